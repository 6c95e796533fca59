/**
 * Robust straight lines: from one start or several, then the bisquare weights of Beaton and Tukey 1974. Standard errors may
 * respect that residuals remember each other.
 */
import type { Random } from '../random.ts';
import { varianceOfSum } from './autocorrelation.ts';
import {
  explained,
  medianSlopeLine,
  ordinaryLine,
  residuals,
  solve,
  type Course,
  type Line,
  type Numbers,
  type Solution,
} from './line.ts';
import { MAD_TO_SD, quantileSorted, sorted } from './order.ts';

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

interface Settled {
  readonly found: Solution;
  readonly residual: Float64Array;
  readonly weights: Float64Array;
  readonly spread: number;
}

const bisquareWeight = (u: number): number => (Math.abs(u) < 1 ? (1 - u * u) ** 2 : 0);

/** Lines reweighted by their own residuals until they stay. */
function settle(x: Numbers, y: Numbers, start: Course): Settled {
  let line = start;
  const weights = new Float64Array(x.length).fill(1);
  let found = solve(x, y, null);
  let residual = residuals(x, y, line);
  let spread = residualSpread(residual);
  for (let round = 0; round < 12 && spread > 0; round++) {
    for (let i = 0; i < x.length; i++) weights[i] = bisquareWeight((residual[i] as number) / (BISQUARE * spread));
    found = solve(x, y, weights);
    const moved = Math.abs(found.scale - line.scale) * Math.sqrt(found.xx / found.weight);
    line = found;
    residual = residuals(x, y, line);
    if (moved < 1e-4 * spread) break;
    spread = residualSpread(residual);
  }
  return { found, residual, weights, spread };
}

/** Mean bisquare loss of residuals of this spread, 0 for none and 1 where all are wild. */
function bisquareLoss(residual: Numbers, spread: number): number {
  let sum = 0;
  for (let i = 0; i < residual.length; i++) {
    const u = (residual[i] as number) / (BISQUARE * spread);
    sum += Math.abs(u) < 1 ? 1 - (1 - u * u) ** 3 : 1;
  }
  return sum / residual.length;
}

/**
 * Robust line. With `remembers` its standard errors respect that neighbouring points, in time order, err alike.
 * Below 8 points it is the ordinary line: too few to tell an outlier.
 */
export function robustLine(x: Numbers, y: Numbers, random: Random, remembers = false): Line {
  if (x.length < 8) return ordinaryLine(x, y);
  return robustErrors(x, y, settle(x, y, medianSlopeLine(x, y, random)), remembers);
}

/**
 * Robust line from several starts, of which the one counts that leaves least: the repeated slopes alone follow the many
 * pairs within one plateau, whose slopes are noise, and call all that lies beyond it wild. Errors remember.
 */
export function robustLineOfMany(x: Numbers, y: Numbers, random: Random): Line {
  if (x.length < 8) return ordinaryLine(x, y);
  const ends = [medianSlopeLine(x, y, random), solve(x, y, null)].map((start) => settle(x, y, start));
  const spread = Math.min(...ends.map((end) => end.spread));
  const losses = ends.map(({ residual }) => (spread > 0 ? bisquareLoss(residual, spread) : residualSpread(residual)));
  return robustErrors(x, y, ends[losses.indexOf(Math.min(...losses))] as Settled, true);
}

/** Line of least bisquare loss near `start`, with the residuals' spread given: comparable over many pairings of the same points. */
export function lineAtSpread(
  x: Numbers,
  y: Numbers,
  start: Course,
  spread: number,
): Course & { readonly loss: number } {
  let line = start;
  let residual = residuals(x, y, line);
  const weights = new Float64Array(x.length);
  for (let round = 0; round < 4; round++) {
    for (let i = 0; i < x.length; i++) weights[i] = bisquareWeight((residual[i] as number) / (BISQUARE * spread));
    const found = solve(x, y, weights);
    if (!(found.weight > 0)) break;
    line = found;
    residual = residuals(x, y, line);
  }
  return { scale: line.scale, offset: line.offset, loss: (BISQUARE ** 2 / 6) * bisquareLoss(residual, spread) };
}

/** Errors of an M-estimate: scores over the mean slope of the score function (Huber 1981, section 7.6). */
function robustErrors(x: Numbers, y: Numbers, { found, residual, weights, spread }: Settled, remembers: boolean): Line {
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

/** Errors of a robust line: of a remembering series where asked, else of independent points of unequal spread. */
function lineErrors(
  x: Numbers,
  found: Solution,
  score: Float64Array,
  slopeDivisor: number,
  remembers: boolean,
): Omit<Line, 'r2' | 'residualSd' | 'n'> {
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
  const even = (small * sumOfSquares(score)) / (n * slopeDivisor ** 2);
  const evenScaleVariance = (even * n) / (found.xx * found.weight);
  const evenOffsetVariance = (even * n) / found.weight ** 2 + found.meanX ** 2 * evenScaleVariance;
  return {
    scale: found.scale,
    offset: found.offset,
    evenScaleSe: Math.sqrt(evenScaleVariance),
    evenOffsetSe: Math.sqrt(evenOffsetVariance),
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
