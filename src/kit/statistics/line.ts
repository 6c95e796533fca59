/** Straight lines y = offset + scale x: ordinary least squares, and the repeated slopes of Theil 1950 and Sen 1968. */
import type { Random } from '../random.ts';
import { median } from './order.ts';

export type Numbers = ArrayLike<number>;
export type Course = Pick<Line, 'scale' | 'offset'>;

export interface Line {
  readonly scale: number;
  readonly offset: number;
  readonly scaleSe: number;
  readonly offsetSe: number;
  /** The same errors if all points erred alike and for themselves. */
  readonly evenScaleSe: number;
  readonly evenOffsetSe: number;
  /** Share of y's variation explained, over the points that kept weight. */
  readonly r2: number;
  /** Residual standard deviation, robust for a robust line. */
  readonly residualSd: number;
  readonly n: number;
  /** Points that are worth as many independent ones for the scale. */
  readonly independent: number;
}

export interface Solution {
  scale: number;
  offset: number;
  meanX: number;
  /** Weighted sum of squares of x about its mean. */
  xx: number;
  weight: number;
}

export function solve(x: Numbers, y: Numbers, weights: Numbers | null): Solution {
  let weight = 0;
  let meanX = 0;
  let meanY = 0;
  for (let i = 0; i < x.length; i++) {
    const w = weights ? (weights[i] as number) : 1;
    weight += w;
    meanX += w * (x[i] as number);
    meanY += w * (y[i] as number);
  }
  meanX /= weight;
  meanY /= weight;
  let xx = 0;
  let xy = 0;
  for (let i = 0; i < x.length; i++) {
    const w = weights ? (weights[i] as number) : 1;
    const dx = (x[i] as number) - meanX;
    xx += w * dx * dx;
    xy += w * dx * ((y[i] as number) - meanY);
  }
  const scale = xx > 0 ? xy / xx : 0;
  return { scale, offset: meanY - scale * meanX, meanX, xx, weight };
}

export function residuals(x: Numbers, y: Numbers, line: { scale: number; offset: number }): Float64Array {
  return Float64Array.from(y, (value, i) => value - line.offset - line.scale * (x[i] as number));
}

export function explained(y: Numbers, residual: Numbers, weights: Numbers | null): number {
  let weight = 0;
  let meanY = 0;
  for (let i = 0; i < y.length; i++) {
    const w = weights ? (weights[i] as number) : 1;
    weight += w;
    meanY += w * (y[i] as number);
  }
  meanY /= weight;
  let total = 0;
  let left = 0;
  for (let i = 0; i < y.length; i++) {
    const w = weights ? (weights[i] as number) : 1;
    total += w * ((y[i] as number) - meanY) ** 2;
    left += w * (residual[i] as number) ** 2;
  }
  return total > 0 ? 1 - left / total : 0;
}

/** Ordinary least squares with the textbook standard errors (independent errors of equal size). */
export function ordinaryLine(x: Numbers, y: Numbers): Line {
  const n = x.length;
  const found = solve(x, y, null);
  const residual = residuals(x, y, found);
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (residual[i] as number) ** 2;
  const s2 = squares / (n - 2);
  const scaleSe = Math.sqrt(s2 / found.xx);
  const offsetSe = Math.sqrt(s2 * (1 / n + found.meanX ** 2 / found.xx));
  return {
    scale: found.scale,
    offset: found.offset,
    scaleSe,
    offsetSe,
    evenScaleSe: scaleSe,
    evenOffsetSe: offsetSe,
    r2: explained(y, residual, null),
    residualSd: Math.sqrt(s2),
    n,
    independent: n,
  };
}

/** Median slope over pairs of points: all of them where few, else `pairs` drawn at random. */
export function medianSlopeLine(
  x: Numbers,
  y: Numbers,
  random: Random,
  pairs = 2000,
): { scale: number; offset: number } {
  const n = x.length;
  const slopes: number[] = [];
  const add = (i: number, j: number): void => {
    const dx = (x[j] as number) - (x[i] as number);
    if (dx !== 0) slopes.push(((y[j] as number) - (y[i] as number)) / dx);
  };
  if ((n * (n - 1)) / 2 <= pairs) {
    for (let i = 0; i < n; i++) for (let j = i + 1; j < n; j++) add(i, j);
  } else {
    for (let k = 0; k < pairs; k++) add(random.below(n), random.below(n));
  }
  const scale = slopes.length > 0 ? median(slopes) : 0;
  return { scale, offset: median(Float64Array.from(y, (value, i) => value - scale * (x[i] as number))) };
}
