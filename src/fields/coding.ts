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
/** A sign beside a magnitude is seldom: so many crossings are asked for. */
const MAGNITUDE_CROSSINGS = 2;

/** values: [n] unsigned raw values in order of time, fillings left out. */
export function decideCoding(values: Float64Array, length: number): CodingEvidence {
  if (hasDigits(values, length)) return { coding: 'bcd', throughZero: 0 };
  if (length < SIGN_BITS_MIN) return { coding: 'unsigned', throughZero: 0 };
  const half = 2 ** (length - 1);
  const travelled = { unsigned: 0, signed: 0, 'sign-magnitude': 0 };
  const nearest = { unsigned: 0, signed: 0, 'sign-magnitude': 0 };
  for (let row = 1; row < values.length; row++) {
    const a = values[row - 1] as number;
    const b = values[row] as number;
    if (a === b || a >= half === b >= half) continue;
    let least: SignReading = 'unsigned';
    let shortest = Infinity;
    for (const reading of READINGS) {
      const way = Math.abs(codedValue(a, reading, length) - codedValue(b, reading, length));
      travelled[reading] += Math.log2(1 + way);
      if (way < shortest) [least, shortest] = [reading, way];
    }
    nearest[least]++;
  }
  const coding = travelled.signed < travelled.unsigned ? 'signed' : 'unsigned';
  const isMagnitude =
    nearest['sign-magnitude'] >= MAGNITUDE_CROSSINGS &&
    travelled['sign-magnitude'] < MAGNITUDE_SHARE * travelled[coding];
  const taken = isMagnitude ? 'sign-magnitude' : coding;
  return { coding: taken, throughZero: taken === 'unsigned' ? 0 : nearest[taken] };
}
/** By so much it must be the shorter way. */
const MAGNITUDE_SHARE = 0.8;

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
