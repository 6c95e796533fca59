/**
 * Straight lines y = offset + scale x: ordinary least squares, and a robust one that starts from the
 * repeated slopes of Theil 1950 and Sen 1968 and goes on with the bisquare weights of Beaton and Tukey 1974.
 * Standard errors may respect that residuals remember each other.
 */
import type { Random } from '../random.ts';
import { varianceOfSum } from './autocorrelation.ts';
import { MAD_TO_SD, median, quantileSorted, sorted } from './order.ts';

type Numbers = ArrayLike<number>;

export interface Line {
  readonly scale: number;
  readonly offset: number;
  readonly scaleSe: number;
  readonly offsetSe: number;
  /** Share of y's variation explained, over the points that kept weight. */
  readonly r2: number;
  /** Residual standard deviation, robust for a robust line. */
  readonly residualSd: number;
  readonly n: number;
  /** Points that are worth as many independent ones for the scale. */
  readonly independent: number;
}

interface Solution {
  scale: number;
  offset: number;
  meanX: number;
  /** Weighted sum of squares of x about its mean. */
  xx: number;
  weight: number;
}

function solve(x: Numbers, y: Numbers, weights: Numbers | null): Solution {
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

/** Errors of a robust line: of a remembering series where asked, else of independent points of unequal spread. */
function lineErrors(
  x: Numbers,
  found: Solution,
  score: Float64Array,
  slopeDivisor: number,
  remembers: boolean,
): Pick<Line, 'scale' | 'offset' | 'scaleSe' | 'offsetSe' | 'independent'> {
  const n = x.length;
  const spread = remembers ? varianceOfSum : sumOfSquares;
  const centred = score.map((value, i) => value * ((x[i] as number) - found.meanX));
  // Both sums are brought to one size before they are added, so that neither drowns the other.
  const unit = Math.sqrt(sumOfSquares(score) / Math.max(sumOfSquares(centred), Number.MIN_VALUE));
  const uu = spread(score);
  const vv = spread(centred);
  const uv =
    (spread(score.map((value, i) => value + unit * (centred[i] as number))) - uu - unit * unit * vv) / (2 * unit);
  const small = n > 2 ? n / (n - 2) : Number.POSITIVE_INFINITY;
  const slope = found.xx * slopeDivisor;
  const level = found.weight * slopeDivisor;
  const scaleVariance = (small * vv) / slope ** 2;
  const offsetVariance =
    (small * uu) / level ** 2 + found.meanX ** 2 * scaleVariance - (2 * found.meanX * small * uv) / (slope * level);
  return {
    scale: found.scale,
    offset: found.offset,
    scaleSe: Math.sqrt(Math.max(0, scaleVariance)),
    offsetSe: Math.sqrt(Math.max(0, offsetVariance)),
    independent: vv > 0 ? Math.min(n, (n * sumOfSquares(centred)) / vv) : n,
  };
}

function sumOfSquares(values: Float64Array): number {
  let sum = 0;
  for (const value of values) sum += value * value;
  return sum;
}

function residuals(x: Numbers, y: Numbers, line: { scale: number; offset: number }): Float64Array {
  return Float64Array.from(y, (value, i) => value - line.offset - line.scale * (x[i] as number));
}

function explained(y: Numbers, residual: Numbers, weights: Numbers | null): number {
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
  return {
    scale: found.scale,
    offset: found.offset,
    scaleSe: Math.sqrt(s2 / found.xx),
    offsetSe: Math.sqrt(s2 * (1 / n + found.meanX ** 2 / found.xx)),
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

/** Tuning constant of the bisquare: 95 % efficient where errors are normal (Beaton and Tukey 1974). */
const BISQUARE = 4.685;

/**
 * Robust spread of residuals, as a normal's sd. The median deviation alone would call a line perfect that
 * fits a quantity's long rests and misses all its movement, so the 85th percentile has a say too.
 */
export function residualSpread(residual: ArrayLike<number>): number {
  const sizes = sorted(Float64Array.from(residual, Math.abs));
  return Math.max(MAD_TO_SD * quantileSorted(sizes, 0.5), quantileSorted(sizes, 0.85) / 1.4395);
}

/**
 * Robust line. With `remembers` its standard errors respect that neighbouring points, in time order, err alike.
 * Below 8 points it is the ordinary line: too few to tell an outlier.
 */
export function robustLine(x: Numbers, y: Numbers, random: Random, remembers = false): Line {
  const n = x.length;
  if (n < 8) return ordinaryLine(x, y);
  let line: { scale: number; offset: number } = medianSlopeLine(x, y, random);
  const weights = new Float64Array(n).fill(1);
  let found = solve(x, y, null);
  let residual = residuals(x, y, line);
  let spread = residualSpread(residual);
  for (let round = 0; round < 12 && spread > 0; round++) {
    for (let i = 0; i < n; i++) {
      const u = (residual[i] as number) / (BISQUARE * spread);
      weights[i] = Math.abs(u) < 1 ? (1 - u * u) ** 2 : 0;
    }
    found = solve(x, y, weights);
    const moved = Math.abs(found.scale - line.scale) * Math.sqrt(found.xx / found.weight);
    line = found;
    residual = residuals(x, y, line);
    if (moved < 1e-4 * spread) break;
    spread = residualSpread(residual);
  }
  return robustErrors(x, y, found, residual, weights, spread, remembers);
}

/** Errors of an M-estimate: scores over the mean slope of the score function (Huber 1981, section 7.6). */
function robustErrors(
  x: Numbers,
  y: Numbers,
  found: Solution,
  residual: Float64Array,
  weights: Float64Array,
  spread: number,
  remembers: boolean,
): Line {
  const n = x.length;
  const score = residual.map((value, i) => value * (weights[i] as number));
  let slope = 0;
  for (let i = 0; i < n; i++) {
    const u = spread > 0 ? (residual[i] as number) / (BISQUARE * spread) : 0;
    if (Math.abs(u) < 1) slope += (1 - u * u) * (1 - 5 * u * u);
  }
  const divisor = spread > 0 ? Math.max(slope, 0.1 * n) / found.weight : 1;
  const errors = lineErrors(x, found, score, divisor, remembers);
  return { ...errors, r2: explained(y, residual, weights), residualSd: spread, n };
}
