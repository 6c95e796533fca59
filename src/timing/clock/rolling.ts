/**
 * How many frames are missing before each frame, as values say that step by one with every frame that was sent (rolling counters; common
 * practice, no source). A counter gives the number only modulo its range; the time that passed tells how often it went
 * round. Where the two contradict each other, the sender began anew; where the time is too uncertain to
 * tell, the number is unknown.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { lengthAt, type Stream } from '../../frames/table.ts';
import { MISSING } from '../../kit/missing.ts';
import { quantile, sortedSample } from '../robust.ts';
import { rollingAt, rollingPlaces, type RollingRule } from './rolling-place.ts';

export interface RollingValue extends RollingRule {
  /**
   * [n] frames missing before each row; NaN for the first, where the sender began anew, and where several numbers fit. 0 as well
   * after a pause in which the sender itself kept silent: the value goes on where it stood.
   */
  readonly skips: Float32Array;
  /** Rows, ascending, where the value begins anew: what it holds fits no number of frames lost in the time that passed. */
  readonly restarts: Int32Array;
  /** Whether frames come at a pace, so that time tells how often the value went round. */
  readonly isPaced: boolean;
  /** Sum of the skips that are known. */
  readonly lost: number;
  /** Rows of unknown skip, the first one and restarts aside. */
  readonly unknown: number;
}

const ROWS_A_STEP = 50_000;
/** A pace looser than this, in periods, tells nothing; then but a few frames may be missing and no more be said. */
const LOOSE = 0.3;
const MISSING_UNPACED = 3;
/** How well the mean of some thousand intervals tells the pace, as a share. */
const PACE_ERROR = 0.003;
/** Give or take which counter and clock must agree, frames. */
const AGREE = 0.75;
/** Periods after which the same value again is no mere repetition. */
const LONG_PAUSE = 3;
/** Frames that change places do so with close neighbours. */
const DISORDER_ROWS = 6;
/** More beginnings anew than another counter of the same frames shows are none. */
const MORE_RESTARTS = 1;
/** Rows that fit no count of frames: a few in any stream, else this share. */
const ODD_ROWS = 3;
const ODD_SHARE = 0.02;
const MODULUS_WIDE = 7;
const SPACINGS_LOOKED_AT = 4000;

/** Usual interval and how far intervals stray from it, in intervals: what time is worth for counting frames. */
interface Pace {
  readonly periodUs: number;
  readonly stray: number;
}

function paceOf({ timeUs, count }: Stream): Pace {
  const every = Math.max(1, Math.floor((count - 1) / SPACINGS_LOOKED_AT));
  const spacing = Float64Array.from({ length: Math.floor((count - 1) / every) }, (_, i) => {
    const row = i * every;
    return (timeUs[row + 1] as number) - (timeUs[row] as number);
  });
  const sample = sortedSample(spacing);
  const middleUs = quantile(sample, 0.5);
  if (!(middleUs > 0)) return { periodUs: Infinity, stray: Infinity };
  // The mean of the usual ones: stamps in steps of a millisecond shift the median.
  const usual = sample.filter((us) => us > 0.5 * middleUs && us < 1.5 * middleUs);
  const periodUs = usual.reduce((sum, us) => sum + us, 0) / usual.length;
  const strays = Float64Array.from(sample, (us) => Math.abs(us / periodUs - 1)).sort();
  return { periodUs, stray: quantile(strays, 0.9) };
}

const enum Told {
  Unknown = -1,
  Restart = -2,
}

/**
 * Frames missing before one frame, or why that is not told.
 * @param taken steps that the value took modulo its range, 0..modulus - 1
 * @param spacingUs since the frame before
 */
function missingBefore(taken: number, modulus: number, spacingUs: number, { periodUs, stray }: Pace): number {
  const shown = (taken - 1 + modulus) % modulus;
  if (stray > LOOSE) return shown <= Math.min(MISSING_UNPACED, modulus / 3) ? shown : Told.Unknown;
  const byTime = spacingUs / periodUs - 1;
  const doubt = AGREE + 2 * stray + PACE_ERROR * Math.abs(byTime);
  const turns = Math.max(0, Math.round((byTime - shown) / modulus));
  const missing = shown + turns * modulus;
  if (Math.abs(missing - byTime) <= doubt) return 2 * doubt < modulus ? missing : Told.Unknown;
  // The very next value after a pause: the sender kept silent, and nothing was lost.
  if (shown === 0) return 0;
  // The same value again at once is a repetition.
  if (taken === 0 && byTime < LONG_PAUSE) return 0;
  return 2 * doubt < modulus ? Told.Restart : Told.Unknown;
}

const modulo = (value: number, by: number): number => ((value % by) + by) % by;

const modulusOf = ({ min, max }: Pick<RollingRule, 'min' | 'max'>): number => max - min + 1;

/** Stands in a column for a frame that is too short or holds a value beyond the range. */
const NO_VALUE = 0xffff;

/** [n] the value of each frame less the least one. */
function* columnOf(stream: Stream, { place, min, max }: RollingRule): Steps<Uint16Array> {
  const column = new Uint16Array(stream.count);
  const lastByte = place.byte + (place.length > 8 && place.order === 'little' ? 1 : 0);
  for (let row = 0; row < column.length; row++) {
    if (row % ROWS_A_STEP === 0) yield;
    const value = lengthAt(stream, row) > lastByte ? rollingAt(stream, row, place) : -1;
    column[row] = value >= min && value <= max && value - min < NO_VALUE ? value - min : NO_VALUE;
  }
  return column;
}

/** [modulus] how many steps lead so far up: the inverse of the step. */
function stepsUp({ step, min, max }: RollingRule): Uint16Array {
  const modulus = modulusOf({ min, max });
  const steps = new Uint16Array(modulus);
  for (let taken = 0; taken < modulus; taken++) steps[modulo(taken * step, modulus)] = taken;
  return steps;
}

/** What the counting of one stream needs at hand. */
interface Counting {
  readonly stream: Stream;
  readonly pace: Pace;
  readonly column: Uint16Array;
  readonly steps: Uint16Array;
}

/** Steps taken modulo the range between two rows; -1 where one holds no value. */
function stepsBetween({ column, steps }: Counting, from: number, to: number): number {
  const [before, value] = [column[from] as number, column[to] as number];
  if (before === NO_VALUE || value === NO_VALUE) return -1;
  return steps[value >= before ? value - before : value - before + steps.length] as number;
}

/**
 * The row, a few on, at which the value stands where it would without what happened at `row`: then frames only changed places, because
 * their stamps went back a little. -1 where it goes on from the new value, as it does after losses and a new beginning.
 */
function resumesAt(counting: Counting, row: number): number {
  const modulus = counting.steps.length;
  if (modulus <= DISORDER_ROWS || stepsBetween(counting, row - 1, row) === 1) return -1;
  const end = Math.min(row + DISORDER_ROWS, counting.column.length);
  for (let later = row + 1; later < end; later++) {
    if (stepsBetween(counting, row - 1, later) === (later - row + 1) % modulus) return later;
  }
  return -1;
}

function told(counting: Counting, row: number): number {
  const { stream, pace, steps } = counting;
  const taken = stepsBetween(counting, row - 1, row);
  if (taken < 0) return Told.Unknown;
  const spacingUs = (stream.timeUs[row] as number) - (stream.timeUs[row - 1] as number);
  return missingBefore(taken, steps.length, spacingUs, pace);
}

/** Time within which the very next value is surely the very next frame: the value cannot have gone round. -Infinity where that is never sure. */
function nextWithin({ pace, steps }: Counting): number {
  const turn = steps.length / 2;
  const doubt = AGREE + 2 * pace.stray + PACE_ERROR * turn;
  return pace.stray <= LOOSE && 2 * doubt < steps.length ? turn * pace.periodUs : -Infinity;
}

/** The first row from..to - 1 that is not surely the very next frame, else `to`. Nearly all frames are, so most time goes to this. */
function nextOdd({ stream, column, steps }: Counting, from: number, to: number, soonUs: number): number {
  const { timeUs } = stream;
  let beforeUs = timeUs[from - 1] as number;
  let before = column[from - 1] as number;
  for (let row = from; row < to; row++) {
    const us = timeUs[row] as number;
    const value = column[row] as number;
    if (us - beforeUs >= soonUs || before === NO_VALUE || value === NO_VALUE) return row;
    if (steps[value >= before ? value - before : value - before + steps.length] !== 1) return row;
    beforeUs = us;
    before = value;
  }
  return to;
}

interface Tally {
  readonly skips: Float32Array;
  readonly restarts: number[];
  lost: number;
  unknown: number;
}

/** A row of which more than its value is asked. Returns the last row that it tells of. */
function tallyOdd(counting: Counting, tally: Tally, row: number): number {
  const missing = told(counting, row);
  const resumed = missing === 0 || missing === Told.Unknown ? -1 : resumesAt(counting, row);
  if (missing === 0 || resumed > 0) {
    const last = Math.max(row, resumed);
    tally.skips.fill(0, row, last + 1);
    return last;
  }
  if (missing > 0) {
    tally.skips[row] = missing;
    tally.lost += missing;
  } else if (missing === Told.Restart) tally.restarts.push(row);
  else tally.unknown++;
  return row;
}

/** Rows from..to - 1, and a few more where frames changed places across the end. Returns the row to go on at. */
function tallyRows(counting: Counting, tally: Tally, from: number, to: number): number {
  const soonUs = nextWithin(counting);
  let row = from;
  while (row < to) {
    const odd = nextOdd(counting, row, to, soonUs);
    tally.skips.fill(0, row, odd);
    row = odd;
    if (odd < to) row = 1 + tallyOdd(counting, tally, odd);
  }
  return row;
}

function* countSkips(stream: Stream, rule: RollingRule, pace: Pace): Steps<RollingValue> {
  const counting: Counting = { stream, pace, column: yield* columnOf(stream, rule), steps: stepsUp(rule) };
  const tally: Tally = { skips: new Float32Array(stream.count).fill(MISSING), restarts: [], lost: 0, unknown: 0 };
  for (let row = 1; row < stream.count;) {
    row = tallyRows(counting, tally, row, Math.min(stream.count, row + ROWS_A_STEP));
    yield;
  }
  const restarts = Int32Array.from(tally.restarts);
  return { ...rule, ...tally, restarts, isPaced: pace.stray <= LOOSE };
}

/** Hardly a counter where it begins anew every few frames. */
const isSteady = ({ skips, restarts, unknown }: RollingValue): boolean =>
  restarts.length + unknown <= Math.max(ODD_ROWS, ODD_SHARE * skips.length);

/** Pages that come in turn count frames too, but a true counter beside them counts farther. */
function bestCounting(values: readonly RollingValue[]): RollingValue[] {
  const isWide = values.some((value) => modulusOf(value) >= MODULUS_WIDE);
  const wide = values.filter((value) => !isWide || modulusOf(value) >= MODULUS_WIDE);
  const least = wide.reduce((fewest, { restarts }) => Math.min(fewest, restarts.length), Infinity);
  return wide.filter(({ restarts }) => restarts.length <= least + MORE_RESTARTS);
}

/**
 * The rolling counters of one stream, in the order of their places. Empty where none is beyond doubt.
 * Cost: O(n) for each counter, else a sample.
 */
export function* rollingValues(stream: Stream): Steps<RollingValue[]> {
  const rules = yield* rollingPlaces(stream);
  if (rules.length === 0) return [];
  const pace = paceOf(stream);
  yield;
  const values: RollingValue[] = [];
  for (const rule of rules) {
    values.push(yield* countSkips(stream, rule, pace));
    yield;
  }
  return bestCounting(values.filter(isSteady));
}
