/** What flags say and what happens beside them, on one grid of instants; how often chance alone makes two such courses agree. */
import { fieldSeries, type FieldSeries } from '../../map/field-series.ts';
import { fisherOf } from '../../kit/statistics/correlation.ts';
import { normalBelow } from '../../kit/statistics/distributions.ts';
import { benjaminiHochberg } from '../../kit/statistics/false-discovery.ts';
import type { Prepared } from './prepared.ts';

export const STEP_US = 100_000;
const POINTS_MOST = 20_000;
/** Shifts nearer than this are the tie itself. */
const NEAR_POINTS = 40;
const SHIFTS_MOST = 300;
const SHIFTS_LEAST = 100;

export const UNKNOWN = -1;
/** [points] 0, 1 or unknown. */
export type Course = Int8Array;

export const pointsOf = (lengthUs: number): number => Math.min(POINTS_MOST, Math.floor(lengthUs / STEP_US) + 1);

/** [points] the raw value last sent, NaN before the first frame and where frames stay away. */
export function lastSent({ timeUs, value }: FieldSeries, periodUs: number, points: number): Float64Array {
  const patienceUs = Math.max(3 * periodUs, 300_000);
  let row = -1;
  return Float64Array.from({ length: points }, (_, k) => {
    while (row + 1 < timeUs.length && (timeUs[row + 1] as number) <= k * STEP_US) row++;
    const isFresh = row >= 0 && k * STEP_US - (timeUs[row] as number) <= patienceUs;
    return isFresh ? (value[row] as number) : Number.NaN;
  });
}

/** 1 where a flag has a value. */
export function flagIs(flag: Prepared, value: number, points: number): Course {
  const sent = lastSent(flag.field.series, flag.field.periodUs, points);
  return Int8Array.from(sent, (here) => (Number.isNaN(here) ? UNKNOWN : here === value ? 1 : 0));
}

/** 1 where a number shows the highest value that its bits can, with codes that are left out elsewhere. */
export function topCode({ candidate, field: { periodUs } }: Prepared, points: number): Course {
  const { stream, field, frame } = candidate;
  const series = fieldSeries(stream, { ...field, coding: 'unsigned', invalid: [] }, frame.selectors);
  const top = 2 ** field.length - 1;
  const sent = lastSent(series, periodUs, points);
  return Int8Array.from(sent, (here) => (Number.isNaN(here) ? UNKNOWN : here === top ? 1 : 0));
}

/** Unknown for so many points before and after each turn. */
export function settled(course: Course, after: number, before = 0): Course {
  const out = Int8Array.from(course);
  for (let k = 1; k < course.length; k++)
    if (course[k] !== course[k - 1]) out.fill(UNKNOWN, Math.max(0, k - before), Math.min(course.length, k + after));
  return out;
}

/** Runs of instants for which something holds, at least so long. */
export function runsOf(length: number, is: (k: number) => boolean, least: number): [from: number, to: number][] {
  const runs: [number, number][] = [];
  let from = -1;
  for (let k = 0; k <= length; k++) {
    const holds = k < length && is(k);
    if (holds && from < 0) from = k;
    if (!holds && from >= 0) {
      if (k - from >= least) runs.push([from, k]);
      from = -1;
    }
  }
  return runs;
}

/** Correlation of two courses of 0 and 1 over what is known of both (Pearson's phi); the second so many points later, in a circle. */
export function agreement(a: Course, b: Course, shift = 0): number {
  const n = a.length;
  const counts = [0, 0, 0, 0];
  for (let k = 0, j = shift % n; k < n; k++, j = j + 1 === n ? 0 : j + 1) {
    const [one, other] = [a[k] as number, b[j] as number];
    if (one >= 0 && other >= 0) counts[2 * one + other]!++;
  }
  const [none, second, first, both] = counts as [number, number, number, number];
  const size = (none + second) * (first + both) * (none + first) * (second + both);
  return size > 0 ? (none * both - first * second) / Math.sqrt(size) : 0;
}

const fisher = (r: number): number => fisherOf(r, 0.9999);

/** p of an agreement against those at circular shifts: a normal's tail of Fisher's 1915 transform with the spread of the shifts. */
export function chanceOf(a: Course, b: Course): number {
  const n = a.length;
  const every = Math.max(1, Math.floor((n - 2 * NEAR_POINTS) / SHIFTS_MOST));
  let [shifts, squares] = [0, 0];
  for (let shift = NEAR_POINTS; shift < n - NEAR_POINTS; shift += every) {
    squares += fisher(agreement(a, b, shift)) ** 2;
    shifts++;
  }
  if (shifts < SHIFTS_LEAST) return 1;
  const spread = Math.max(1 / Math.sqrt(n), Math.sqrt(squares / shifts));
  return normalBelow(-fisher(agreement(a, b)) / spread);
}

/** Of all that were tried those that may be claimed; null was tried and holds nothing. */
export function claimed<T extends { readonly p: number }>(tried: readonly (T | null)[], most: number) {
  const q = benjaminiHochberg(tried.map((one) => one?.p ?? 1));
  return tried
    .flatMap((one, k) => (one && (q[k] as number) <= most ? [{ ...one, q: q[k] as number }] : []))
    .sort((a, b) => a.p - b.p);
}
