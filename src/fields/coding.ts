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
  /** With a sign for no other reason than that all numbers of the upper half are small ones then. */
  readonly bySmallness: boolean;
}

const SIGN_BITS_MIN = 3;
/** A value that leaps about at random crosses the middle by chance; each crossing then speaks for either reading by about so many bits. */
const CHANCE_BITS = 1.3;
/** So many times that must be exceeded, and so many bits in any case. */
const CHANCES = 2;
const SIGN_BITS = 3;
/** A sign beside a magnitude is seldom: one crossing must speak for it so clearly, and so many of all: an angle that turns fast crosses anyhow. */
const MAGNITUDE_BITS = 6;
const MAGNITUDE_SHARE = 0.6;
/** A crossing that is so many times farther than any move within a half, in every reading, is a leap and tells nothing of what lies between. */
const LEAP = 2;
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

/** The farthest move within a half of the range, from the number `from` on. */
function farthestWithin(values: Float64Array, length: number, from: number): number {
  const half = 2 ** (length - 1);
  let farthest = 0;
  for (let row = from + 1; row < values.length; row++) {
    const [a, b] = [values[row - 1] as number, values[row] as number];
    if (a >= half === b >= half) farthest = Math.max(farthest, Math.abs(a - b));
  }
  return farthest;
}

/** Where the value moved from one half of its range to the other, but not by a leap, from the number `from` on. */
function crossingsOf(values: Float64Array, length: number, from: number): Crossings {
  const half = 2 ** (length - 1);
  const limit = LEAP * farthestWithin(values, length, from);
  const zero = (): ByReading => ({ unsigned: 0, signed: 0, 'sign-magnitude': 0 });
  const crossings: Crossings = { count: 0, far: zero(), nearest: zero() };
  for (let row = from + 1; row < values.length; row++) {
    const a = values[row - 1] as number;
    const b = values[row] as number;
    if (a >= half === b >= half) continue;
    const ways = READINGS.map((reading) => distance(a, b, reading, length));
    const shortest = Math.min(...ways);
    if (shortest > limit) continue;
    crossings.count++;
    READINGS.forEach((reading, index) => (crossings.far[reading] += Math.log2(1 + (ways[index] as number))));
    crossings.nearest[READINGS[ways.indexOf(shortest)] as SignReading]++;
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
  const largest = farthestWithin(values, length, row);
  return row < values.length && distance(values[0] as number, values[row] as number, reading, length) > largest;
}

/**
 * Bits that speak for a sign by how near to its upper end the upper half of the range was only ever seen: negative numbers are small ones
 * there, while a value without a sign, whose top bit is the highest that moved, lies anywhere above the middle. Less what the guess of a size costs.
 */
function bitsOfSmallness(values: Float64Array, length: number, from: number): number {
  const half = 2 ** (length - 1);
  let least = 2 * half;
  for (let row = from; row < values.length; row++) {
    const value = values[row] as number;
    if (value >= half) least = Math.min(least, value);
  }
  return least === 2 * half ? 0 : Math.log2(half / (2 * half - least)) - Math.log2(length);
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
  const told = (coding: CodingEvidence['coding'], throughZero = 0, bySmallness = false): CodingEvidence => ({
    coding,
    throughZero,
    bySmallness,
  });
  if (hasDigits(values, length)) return told('bcd');
  if (length < SIGN_BITS_MIN || values.length === 0) return told('unsigned');
  const from = settledFrom(values, length);
  const { count, far, nearest } = crossingsOf(values, length, from);
  const taken = (coding: SignReading): CodingEvidence => told(coding, nearest[coding]);
  const beginsLowest =
    length >= LOWEST_BITS_MIN &&
    from > 0 &&
    values[0] === 2 ** (length - 1) &&
    leavesByLeap(values, from, length, 'unsigned');
  const plain = beginsLowest ? taken('signed') : told('unsigned');
  if (isOnlyFilling(values, length, from, count)) return plain;
  if (count === 0) return bitsOfSmallness(values, length, from) > SIGN_BITS ? told('signed', 0, true) : plain;
  const least = Math.min(far.signed, far.unsigned);
  const isMagnitude = nearest['sign-magnitude'] >= MAGNITUDE_SHARE * count;
  if (isMagnitude && isLess(far['sign-magnitude'], least, count, MAGNITUDE_BITS)) return taken('sign-magnitude');
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
