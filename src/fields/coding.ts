/**
 * How a value is coded: with or without a sign by continuity (a value that crosses zero wraps around when read otherwise), decimal digits
 * by what never comes. Until the value crosses zero all readings with a sign are equal, and it is called unsigned.
 */
import { codedValue, type Coding } from '../frames/bits.ts';

type SignReading = 'unsigned' | 'signed' | 'sign-magnitude';
const READINGS = ['unsigned', 'signed', 'sign-magnitude'] as const satisfies SignReading[];

export interface CodingEvidence {
  readonly coding: Extract<Coding, SignReading | 'bcd'>;
  /** Times the value went through zero in the reading taken; 0 for readings without a sign. */
  readonly throughZero: number;
}

const SIGN_BITS_MIN = 3;
/** A value that leaps about at random crosses the middle by chance; each crossing then speaks for either reading by about so many bits. */
const CHANCE_BITS = 1.3;
/** So many times that must be exceeded, and so many bits in any case. */
const CHANCES = 2;
const SIGN_BITS = 3;
/** A sign beside a magnitude is seldom: one crossing must speak for it so clearly. */
const MAGNITUDE_BITS = 6;
/** All ones alone may be "no data" as well as -1; what changes to and fro so often is a value. */
const FLICKERS = 8;

type ByReading = Record<SignReading, number>;

interface Crossings {
  count: number;
  /** Sum over the crossings of log2 of how far apart the two values are. */
  readonly far: ByReading;
  /** In how many of them the reading brings the values nearest together. */
  readonly nearest: ByReading;
}

const distance = (a: number, b: number, reading: SignReading, length: number): number =>
  Math.abs(codedValue(a, reading, length) - codedValue(b, reading, length));

/** Where the value moved from one half of its range to the other, from the number `from` on. */
function crossingsOf(values: Float64Array, length: number, from: number): Crossings {
  const half = 2 ** (length - 1);
  const zero = (): ByReading => ({ unsigned: 0, signed: 0, 'sign-magnitude': 0 });
  const crossings: Crossings = { count: 0, far: zero(), nearest: zero() };
  for (let row = from + 1; row < values.length; row++) {
    const a = values[row - 1] as number;
    const b = values[row] as number;
    if (a >= half === b >= half) continue;
    crossings.count++;
    let least: SignReading = 'unsigned';
    let shortest = Infinity;
    for (const reading of READINGS) {
      const way = distance(a, b, reading, length);
      crossings.far[reading] += Math.log2(1 + way);
      if (way < shortest) [least, shortest] = [reading, way];
    }
    crossings.nearest[least]++;
  }
  return crossings;
}

/** The first value behind what a module sends before it knows better: all ones, the lowest signed number, or zero left by a leap. */
function settledFrom(values: Float64Array, length: number): number {
  const first = values[0] as number;
  const isFilling = first === 2 ** length - 1 || first === 2 ** (length - 1);
  if (!isFilling && first !== 0) return 0;
  let row = 1;
  while (row < values.length && values[row] === first) row++;
  return isFilling || leavesByLeap(values, row, length) ? row : 0;
}

/** Whether the move to `row` is larger, in a reading, than any later one within a half of the range. */
function leavesByLeap(values: Float64Array, row: number, length: number, reading: SignReading = 'signed'): boolean {
  const half = 2 ** (length - 1);
  let largest = 0;
  for (let at = row + 1; at < values.length; at++) {
    const [a, b] = [values[at - 1] as number, values[at] as number];
    if (a >= half === b >= half) largest = Math.max(largest, Math.abs(a - b));
  }
  return row < values.length && distance(values[0] as number, values[row] as number, reading, length) > largest;
}

/** Whether nothing but all ones was ever seen of the upper half, and too seldom to be a value's -1. */
function isOnlyFilling(values: Float64Array, length: number, from: number, crossings: number): boolean {
  const ones = 2 ** length - 1;
  const half = 2 ** (length - 1);
  if (crossings >= FLICKERS) return false;
  for (let row = from; row < values.length; row++) {
    const value = values[row] as number;
    if (value >= half && value !== ones) return false;
  }
  return true;
}

const isLess = (bits: number, than: number, crossings: number, least = SIGN_BITS): boolean =>
  bits + Math.max(least, CHANCES * CHANCE_BITS * Math.sqrt(crossings)) <= than;

/** Values this wide may say "no data" by the lowest signed number. */
const LOWEST_BITS_MIN = 8;

/** values: [n] unsigned raw values in order of time. */
export function decideCoding(values: Float64Array, length: number): CodingEvidence {
  if (hasDigits(values, length)) return { coding: 'bcd', throughZero: 0 };
  if (length < SIGN_BITS_MIN || values.length === 0) return { coding: 'unsigned', throughZero: 0 };
  const from = settledFrom(values, length);
  const { count, far, nearest } = crossingsOf(values, length, from);
  const taken = (coding: SignReading): CodingEvidence => ({ coding, throughZero: nearest[coding] });
  const beginsLowest =
    length >= LOWEST_BITS_MIN &&
    from > 0 &&
    values[0] === 2 ** (length - 1) &&
    leavesByLeap(values, from, length, 'unsigned');
  const plain: CodingEvidence = beginsLowest ? taken('signed') : { coding: 'unsigned', throughZero: 0 };
  if (count === 0 || isOnlyFilling(values, length, from, count)) return plain;
  const least = Math.min(far.signed, far.unsigned);
  if (isLess(far['sign-magnitude'], least, count, MAGNITUDE_BITS)) return taken('sign-magnitude');
  return isLess(far.signed, far.unsigned, count) ? taken('signed') : plain;
}

const DISTINCT_MIN = 24;
const LOW_DIGITS_MIN = 9;

/** Whether all groups of four bits stay within 0..9 although the lowest takes nearly all of these, over enough different values. */
function hasDigits(values: Float64Array, length: number): boolean {
  if (length < 5) return false;
  const lowest = new Set<number>();
  const distinct = new Set<number>();
  for (const raw of values) {
    for (let rest = raw; rest > 0; rest = Math.floor(rest / 16)) if (rest % 16 > 9) return false;
    lowest.add(raw % 16);
    if (distinct.size < DISTINCT_MIN) distinct.add(raw);
  }
  return lowest.size >= LOW_DIGITS_MIN && distinct.size >= DISTINCT_MIN;
}
