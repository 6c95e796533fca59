/**
 * How a value is coded: with or without a sign by continuity (a value that crosses zero wraps around when read otherwise), decimal digits
 * by what never comes. Until the value crosses zero all readings with a sign are equal, and it is called unsigned.
 */
import type { Coding } from '../frames/bits.ts';
import {
  crossingsOf,
  firstMove,
  leapsAbout,
  leavesByLeap,
  onlyCounts,
  settled,
  type SignReading,
} from './crossings.ts';

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
/** Of a value that leaps about, and for a sign beside a magnitude, which is seldom, so many times what chance may bring. */
const DOUBTFUL = 2;
/** A sign beside a magnitude: one crossing must speak for it so clearly, and so many of all: an angle that turns fast crosses anyhow. */
const MAGNITUDE_BITS = 6;
const MAGNITUDE_SHARE = 0.6;
/** All ones alone may be "no data" as well as -1; what changes to and fro so often is a value. */
const FLICKERS = 8;

/**
 * Bits that speak for a sign by how near to its upper end the upper half of the range was only ever seen: negative numbers are small ones
 * there, while a value without a sign, whose top bit is the highest that moved, lies anywhere above the middle. Less what the guess of a size costs.
 */
function bitsOfSmallness(values: Float64Array, length: number): number {
  const half = 2 ** (length - 1);
  let least = 2 * half;
  for (const value of values) if (value >= half) least = Math.min(least, value);
  return least === 2 * half ? 0 : Math.log2(half / (2 * half - least)) - Math.log2(length);
}

/** Whether nothing but all ones was ever seen of the upper half, and too seldom to be a value's -1. */
function isOnlyFilling(values: Float64Array, length: number, crossings: number): boolean {
  const ones = 2 ** length - 1;
  const half = 2 ** (length - 1);
  if (crossings >= FLICKERS) return false;
  for (const value of values) {
    if (value >= half && value !== ones) return false;
  }
  return true;
}

const isLess = (bits: number, than: number, crossings: number, doubt: number, least = SIGN_BITS): boolean =>
  bits + Math.max(least, doubt * CHANCES * CHANCE_BITS * Math.sqrt(crossings)) <= than;

/** Values this wide may say "no data" by the lowest signed number. */
const LOWEST_BITS_MIN = 8;

/** all: [n] unsigned raw values in order of time. */
export function decideCoding(all: Float64Array, length: number): CodingEvidence {
  const told = (coding: CodingEvidence['coding'], throughZero = 0, bySmallness = false): CodingEvidence => ({
    coding,
    throughZero,
    bySmallness,
  });
  if (all.length === 0) return told('unsigned');
  const values = settled(all, length);
  if (hasDigits(values, length)) return told('bcd');
  if (length < SIGN_BITS_MIN) return told('unsigned');
  const leaps = leapsAbout(values, length);
  const { count, far, nearest } = crossingsOf(values, length, leaps);
  const taken = (coding: SignReading): CodingEvidence => told(coding, nearest[coding]);
  const beginsLowest =
    length >= LOWEST_BITS_MIN && all[0] === 2 ** (length - 1) && leavesByLeap(all, firstMove(all), length, 'unsigned');
  const plain = beginsLowest ? taken('signed') : told('unsigned');
  if (onlyCounts(values, length) || isOnlyFilling(values, length, count)) return plain;
  if (count === 0) return bitsOfSmallness(values, length) > SIGN_BITS ? told('signed', 0, true) : plain;
  const least = Math.min(far.signed, far.unsigned);
  const isMagnitude = nearest['sign-magnitude'] >= MAGNITUDE_SHARE * count;
  if (isMagnitude && isLess(far['sign-magnitude'], least, count, DOUBTFUL, MAGNITUDE_BITS))
    return taken('sign-magnitude');
  return isLess(far.signed, far.unsigned, count, leaps ? DOUBTFUL : 1) ? taken('signed') : plain;
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
