/**
 * What a span takes to write down as a course (`course.ts`): as it stands, counted in a unit that nearly all values are multiples of (two, five,
 * ten), or coming round at less than its width, as angles do.
 */
import { seldomCost } from './code-length.ts';
import { courseBits, type Course } from './course.ts';
import { isBeginning, special, type SpanView } from './span-tally.ts';

/** Bits of the span's moves, told when it moves; and of all its rows. */
export interface CourseCost {
  readonly perMove: number;
  readonly perRow: number;
}

/** Leaps to or from all ones that are as large as this share of the range are "no data", as in `span-tally.ts`. */
const LEAP_BITS = 3;
const LEAP_WIDTH = 4;

/** The course behind the start-up filling; `tallySteps` must have seen the view last. */
function courseOf({ word, joined, shift, length }: SpanView): Course {
  const from = special.start;
  const values = new Float64Array(word.length - from);
  const begins = new Uint8Array(values.length);
  const mask = length === 32 ? -1 : 2 ** length - 1;
  const range = 2 ** length;
  const leap = length >= LEAP_WIDTH ? 2 ** (length - LEAP_BITS) : Infinity;
  let begun = false;
  for (let row = 0; row < values.length; row++) {
    const value = (((word[from + row] as number) >>> shift) & mask) >>> 0;
    values[row] = value;
    if (row === 0 || joined[from + row] === 0) {
      begins[row] = 1;
      continue;
    }
    const before = values[row - 1] as number;
    if (value === before) continue;
    const step = Math.abs(value - before);
    const shorter = Math.min(step, range - step);
    const isLeap = shorter > leap || (!begun && isBeginning(shorter, length));
    if (isLeap && (before === range - 1 || value === range - 1 || !begun)) begins[row] = 1;
    begun = true;
  }
  return { values, begins };
}

interface Unit {
  readonly unit: number;
  /** Of the values by the unit. */
  readonly rest: number;
  /** To name the unit and rest, and the values that have another. */
  readonly bits: number;
}

const UNITS = [2, 4, 5, 8, 10, 16, 20, 25, 50, 100];
const UNIT_BITS = 4;
/** With fewer moves any value has a unit. */
const UNIT_MOVES = 12;
/** Of the values moved to, at least so many have the same rest; the others are the ends of the range. */
const UNIT_SHARE = 0.8;
/** A value takes so many steps at least. */
const UNIT_STEPS = 4;

const isPower = (unit: number): boolean => (unit & (unit - 1)) === 0;

/**
 * Whether the values with another rest are but the least and the greatest, where a value is held at the ends of its range. Else low bits that
 * seldom move while those above do are a field of their own.
 */
function areEnds(values: Float64Array, unit: number, rest: number): boolean {
  let [least, greatest] = [Infinity, -Infinity];
  for (const value of values) {
    if (value < least) least = value;
    if (value > greatest) greatest = value;
  }
  return values.every((value) => value % unit === rest || value === least || value === greatest);
}

/** The unit that saves most, if any. */
function unitOf({ values, begins }: Course, range: number): Unit | null {
  const arrived = values.filter((value, row) => begins[row] === 0 && value !== values[row - 1]);
  if (arrived.length < UNIT_MOVES) return null;
  let best: Unit | null = null;
  let most = 0;
  for (const unit of UNITS) {
    if (UNIT_STEPS * unit > range) break;
    const rests = new Int32Array(unit);
    for (const value of arrived) rests[value % unit]!++;
    const times = Math.max(...rests);
    const others = arrived.length - times;
    if (times < UNIT_SHARE * arrived.length) continue;
    if (isPower(unit) && others > 0 && !areEnds(arrived, unit, rests.indexOf(times))) continue;
    const bits = UNIT_BITS + Math.log2(unit) * (1 + others) + seldomCost(times, others);
    const saved = arrived.length * Math.log2(unit) - bits;
    if (saved > most) [best, most] = [{ unit, rest: rests.indexOf(times), bits }, saved];
  }
  return best;
}

const ROUND_LEAST = 8;
const ROUND_TURNS = 3;
/** A step over so much of the range is one that comes round. */
const ROUND_SHARE = 0.75;

/** One more than the largest value, all ones apart, where the value comes round there and not at its width. */
function roundAt({ values, begins }: Course, range: number): number | null {
  let largest = 0;
  for (const value of values) if (value > largest && value !== range - 1) largest = value;
  const round = largest + 1;
  if (round < ROUND_LEAST || round >= range - 1) return null;
  let turns = 0;
  for (let row = 1; row < values.length; row++)
    if (begins[row] === 0 && Math.abs((values[row] as number) - (values[row - 1] as number)) > ROUND_SHARE * round)
      turns++;
  return turns >= ROUND_TURNS ? round : null;
}

/** Of several readings one is chosen. */
const CHOICE_BITS = 1;

/** The cheapest reading of the view that `tallySteps` has seen last. */
export function courseCostOf(view: SpanView): CourseCost {
  const course = courseOf(view);
  const range = 2 ** view.length;
  const priced = (values: Float64Array, most: number, besides: number): CourseCost => ({
    perMove: courseBits({ ...course, values }, most, true) + besides + CHOICE_BITS,
    perRow: courseBits({ ...course, values }, most, false) + besides + CHOICE_BITS,
  });
  const costs = [priced(course.values, range, 0)];
  const coarse = unitOf(course, range);
  if (coarse) {
    const { unit, rest, bits } = coarse;
    const values = course.values.map((value) => Math.floor((value - rest) / unit) + 1);
    costs.push(priced(values, Math.floor(range / unit) + 2, bits));
  }
  const round = roundAt(course, range);
  if (round !== null) {
    const values = course.values.map((value) => Math.min(value, round - 1));
    costs.push(priced(values, round, UNIT_BITS + view.length));
  }
  return {
    perMove: Math.min(...costs.map(({ perMove }) => perMove)),
    perRow: Math.min(...costs.map(({ perRow }) => perRow)),
  };
}
