/** Fields on one even grid of instants, and how easily luck alone makes one course explain another: by circular shifts, which keep each one's memory. */
import { ValueReader } from '../../fields/same-value/pairs.ts';
import { fisherOf } from '../../kit/statistics/correlation.ts';
import { normalBelow } from '../../kit/statistics/distributions.ts';
import type { Prepared } from '../roles/prepared.ts';

const STEP_LEAST_US = 200_000;
const POINTS_MOST = 1500;

export interface Grid {
  readonly stepUs: number;
  readonly points: number;
}

export function gridOf(lengthUs: number): Grid {
  const stepUs = Math.max(STEP_LEAST_US, lengthUs / POINTS_MOST);
  return { stepUs, points: Math.max(0, Math.floor(lengthUs / stepUs)) };
}

/** [points] mean of the value over each step, by a few readings; NaN where not known. */
export function courseOn({ field }: Prepared, { stepUs, points }: Grid): Float64Array {
  const reader = new ValueReader(field, 'value');
  const readings = [0.125, 0.375, 0.625, 0.875];
  return Float64Array.from({ length: points }, (_, k) => {
    let sum = 0;
    for (const share of readings) sum += reader.at((k + share) * stepUs);
    return sum / readings.length;
  });
}

/** Instants at which all are known. */
export function knownIn(...courses: readonly Float64Array[]): number[] {
  const [first] = courses;
  return first
    ? Array.from(first.keys()).filter((k) => courses.every((course) => !Number.isNaN(course[k] as number)))
    : [];
}

/** A course at some of its instants. */
export function picked(course: Float64Array, at: readonly number[]): Float64Array {
  const out = new Float64Array(at.length);
  for (let i = 0; i < out.length; i++) out[i] = course[at[i] as number] as number;
  return out;
}

interface Sums {
  readonly n: number;
  readonly x: number;
  readonly y: number;
  readonly xx: number;
  readonly yy: number;
  readonly xy: number;
}

function correlationOf({ n, x, y, xx, yy, xy }: Sums): number {
  const [sxx, syy] = [xx - (x * x) / n, yy - (y * y) / n];
  return sxx > 0 && syy > 0 ? Math.max(-1, Math.min(1, (xy - (x * y) / n) / Math.sqrt(sxx * syy))) : 0;
}

export function correlation(a: ArrayLike<number>, b: ArrayLike<number>, shift = 0): number {
  const n = Math.min(a.length, b.length);
  let [x, y, xx, yy, xy] = [0, 0, 0, 0, 0];
  for (let k = 0, j = shift; k < n; k++, j = j + 1 >= n ? 0 : j + 1) {
    const [one, other] = [a[k] as number, b[j] as number];
    x += one;
    y += other;
    xx += one * one;
    yy += other * other;
    xy += one * other;
  }
  return correlationOf({ n, x, y, xx, yy, xy });
}

/**
 * Correlation of values with a course at their instants where it is known, and at how many it is. Nothing is picked out, as this is asked of
 * thousands of combinations of which few are looked at again.
 * @param values [at.length]
 */
export function correlationAt(
  values: Float64Array,
  course: Float64Array,
  at: readonly number[],
): { readonly r: number; readonly n: number } {
  let [n, x, y, xx, yy, xy] = [0, 0, 0, 0, 0, 0];
  for (let k = 0; k < at.length; k++) {
    const [one, other] = [values[k] as number, course[at[k] as number] as number];
    if (Number.isNaN(other)) continue;
    n++;
    x += one;
    y += other;
    xx += one * one;
    yy += other * other;
    xy += one * other;
  }
  return { r: correlationOf({ n, x, y, xx, yy, xy }), n };
}

export const fisher = (r: number): number => fisherOf(r, 0.999999);
const NEAR = 10;
const SHIFTS_MOST = 300;

/** Two-sided p of a correlation against those at circular shifts: a normal's tail of Fisher's 1915 transform with the spread of the shifts. */
export function chanceOf(a: ArrayLike<number>, b: ArrayLike<number>): number {
  const n = Math.min(a.length, b.length);
  const every = Math.max(1, Math.floor((n - 2 * NEAR) / SHIFTS_MOST));
  let [count, squares] = [0, 0];
  for (let shift = NEAR; shift < n - NEAR; shift += every) {
    squares += fisher(correlation(a, b, shift)) ** 2;
    count++;
  }
  if (count < 20) return 1;
  const spread = Math.max(1 / Math.sqrt(n), Math.sqrt(squares / count));
  return Math.min(1, 2 * normalBelow(-Math.abs(fisher(correlation(a, b))) / spread));
}

/** Residual variance share of a straight line through the second on the first, with slope and where it meets zero. */
export interface Fit {
  readonly slope: number;
  readonly offset: number;
  readonly open: number;
}

export function lineThrough(x: ArrayLike<number>, y: ArrayLike<number>): Fit {
  const n = Math.min(x.length, y.length);
  let [sx, sy, sxx, syy, sxy] = [0, 0, 0, 0, 0];
  for (let k = 0; k < n; k++) {
    const [a, b] = [x[k] as number, y[k] as number];
    sx += a;
    sy += b;
    sxx += a * a;
    syy += b * b;
    sxy += a * b;
  }
  const [dxx, dyy, dxy] = [sxx - (sx * sx) / n, syy - (sy * sy) / n, sxy - (sx * sy) / n];
  if (!(dxx > 0) || !(dyy > 0)) return { slope: 0, offset: n > 0 ? sy / n : 0, open: 1 };
  const slope = dxy / dxx;
  return { slope, offset: (sy - slope * sx) / n, open: Math.max(0, 1 - (dxy * dxy) / (dxx * dyy)) };
}
