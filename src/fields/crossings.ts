/**
 * Where a value goes from one half of its range to the other, and how far that is in each reading: a value with a sign goes through zero
 * there, one without through the middle, and what leaps does neither.
 */
import { codedValue, type Coding } from '../frames/bits.ts';

export const READINGS = ['unsigned', 'signed', 'sign-magnitude'] as const satisfies Coding[];
export type SignReading = (typeof READINGS)[number];
type ByReading = Record<SignReading, number>;

export interface Crossings {
  count: number;
  /** Sum over the crossings of log2 of how far apart the two values are. */
  readonly far: ByReading;
  /** In how many of them the reading brings the values nearest together. */
  readonly nearest: ByReading;
}

/** A crossing that is so many times farther than the value usually moves within a half, in every reading, is a leap and tells nothing of what lies between. */
const LEAP = 2;
/** The share of the moves within a half that are usual: the few beyond, as to "off" and back, are leaps too. */
const USUAL_SHARE = 0.95;
/** Moves that tell what is usual. */
const MOVES_MAX = 2000;

const distance = (a: number, b: number, reading: SignReading, length: number): number =>
  Math.abs(codedValue(a, reading, length) - codedValue(b, reading, length));

/** [moves] how far the value went, each time that it stayed within a half of the range. */
function movesWithin(values: Float64Array, length: number): number[] {
  const half = 2 ** (length - 1);
  const far: number[] = [];
  for (let row = 1; row < values.length; row++) {
    const [a, b] = [values[row - 1] as number, values[row] as number];
    if (a !== b && a >= half === b >= half) far.push(Math.abs(a - b));
  }
  return far;
}

function usualWithin(values: Float64Array, length: number): number {
  const all = movesWithin(values, length);
  const stride = Math.ceil(all.length / MOVES_MAX);
  const some = Float64Array.from(stride > 1 ? all.filter((_, index) => index % stride === 0) : all).sort();
  return some[Math.ceil(USUAL_SHARE * some.length) - 1] ?? 0;
}

/** A move is far that goes over this share of the range, whichever way round. */
const FAR_SHARE = 1 / 16;

/** Of a value that leaps about, at least this share of the moves go far. */
const LEAPING_SHARE = 0.5;

/** Whether most moves go far, as from one set-point to another. */
export function leapsAbout(values: Float64Array, length: number): boolean {
  const whole = 2 ** length;
  let moves = 0;
  let far = 0;
  for (let row = 1; row < values.length; row++) {
    const apart = Math.abs((values[row] as number) - (values[row - 1] as number));
    if (apart === 0) continue;
    moves++;
    if (Math.min(apart, whole - apart) > FAR_SHARE * whole) far++;
  }
  return far > LEAPING_SHARE * moves;
}

function endsOf(values: Float64Array): [least: number, most: number] {
  let [least, most] = [Infinity, -Infinity];
  for (const value of values) [least, most] = [Math.min(least, value), Math.max(most, value)];
  return [least, most];
}

/** Where the value moved from one half of its range to the other, but not by a leap. values: [n] unsigned; leaps: as `leapsAbout` says. */
export function crossingsOf(values: Float64Array, length: number, leaps: boolean): Crossings {
  const half = 2 ** (length - 1);
  const limit = LEAP * usualWithin(values, length);
  // What leaps from one limit to the other is one step away from it the other way round, and nothing is told by that.
  const [least, most] = endsOf(values);
  const isLimit = (value: number): boolean => leaps && (value === least || value === most);
  const zero = (): ByReading => ({ unsigned: 0, signed: 0, 'sign-magnitude': 0 });
  const crossings: Crossings = { count: 0, far: zero(), nearest: zero() };
  for (let row = 1; row < values.length; row++) {
    const a = values[row - 1] as number;
    const b = values[row] as number;
    if (a >= half === b >= half || (isLimit(a) && isLimit(b))) continue;
    const ways = READINGS.map((reading) => distance(a, b, reading, length));
    const shortest = Math.min(...ways);
    if (shortest > limit) continue;
    crossings.count++;
    READINGS.forEach((reading, index) => (crossings.far[reading] += Math.log2(1 + (ways[index] as number))));
    crossings.nearest[READINGS[ways.indexOf(shortest)] as SignReading]++;
  }
  return crossings;
}

/** Whether the move from the first value to that of `row` is larger, in a reading, than any later one within a half of the range. */
export function leavesByLeap(values: Float64Array, row: number, length: number, reading: SignReading): boolean {
  if (row >= values.length) return false;
  const left = distance(values[0] as number, values[row] as number, reading, length);
  return movesWithin(values.subarray(row), length).every((far) => far < left);
}

/** The number of the first value that is unlike the first one. */
export function firstMove(values: Float64Array): number {
  let row = 1;
  while (row < values.length && values[row] === values[0]) row++;
  return row;
}

/**
 * The values behind what a module sends before it knows better: all ones, the lowest signed number, or whatever never comes again or is
 * left by a leap. What is left by a leap is no value later on either.
 */
export function settled(values: Float64Array, length: number): Float64Array {
  const first = values[0] as number;
  const row = firstMove(values);
  const rest = values.subarray(row);
  if (leavesByLeap(values, row, length, 'signed')) return rest.filter((value) => value !== first);
  const isFilling = first === 2 ** length - 1 || first === 2 ** (length - 1);
  return isFilling || !rest.includes(first) ? rest : values;
}

/** Moves all one way that make a value one which counts. */
const COUNTING_MOVES = 8;

/** Whether all moves go one way round: what only ever counts comes round at its end. */
export function onlyCounts(values: Float64Array, length: number): boolean {
  const whole = 2 ** length;
  let up = 0;
  let down = 0;
  for (let row = 1; row < values.length && (up === 0 || down === 0); row++) {
    const step = ((values[row] as number) - (values[row - 1] as number) + whole) % whole;
    if (step !== 0 && step < whole / 2) up++;
    else if (step !== 0) down++;
  }
  return Math.min(up, down) === 0 && up + down >= COUNTING_MOVES;
}
