/**
 * One field fitted to one reference in full: the lag refined, the line found robustly, its errors with the
 * residuals' autocorrelation respected, and the chance that
 * so good a tie is luck, with the number of independent readings after Bartlett 1946.
 */
import { independentPairs } from '../kit/statistics/autocorrelation.ts';
import { pearson } from '../kit/statistics/correlation.ts';
import { erfc, studentQuantile } from '../kit/statistics/distributions.ts';
import { ordinaryLine, type Line } from '../kit/statistics/line.ts';
import { robustLineOfMany } from '../kit/statistics/robust-line.ts';
import { ranks } from '../kit/statistics/order.ts';
import type { Random } from '../kit/random.ts';
import { bentTie, type Bent } from './bent.ts';
import type { FieldGrid } from './field-grid.ts';
import { errorsOf, movedWith } from './errors.ts';
import { pairUp, type Pairs } from './pairing.ts';
import type { Shift } from './shift.ts';
import type { ReferenceSeries } from './types.ts';

export interface Detail {
  readonly line: Line;
  /** Field time minus reference time, seconds, that the line was found at. */
  readonly shiftS: number;
  /** What the line leaves over, or the curve where the tie is bent. */
  readonly residual: Float64Array;
  /** Null where a line does. */
  readonly bent: Bent | null;
  readonly pairs: Pairs;
  /** Standard errors with rounding and the shift's own error in them, and half widths of 95 % intervals. */
  readonly scaleSe: number;
  readonly offsetSe: number;
  readonly scaleHalf: number;
  readonly offsetHalf: number;
  /** Residuals that are worth counting as independent. */
  readonly independent: number;
  /** Chance of so strong a tie for this one field. */
  readonly p: number;
}

const CHANCE_PAIRS = 300;

/** Every k-th pair, so that at most so many are left: the sums over all lags stay cheap. */
function fewer({ timeS, x, y }: Pairs): Pairs {
  const every = Math.ceil(x.length / CHANCE_PAIRS);
  const pick = (values: Float64Array): Float64Array => values.filter((_, i) => i % every === 0);
  return { timeS: pick(timeS), x: pick(x), y: pick(y) };
}

/** What is left of a series when its steady drift is taken out. */
function withoutDrift(timeS: Float64Array, values: Float64Array): Float64Array {
  const { scale, offset } = ordinaryLine(timeS, values);
  return values.map((value, i) => value - offset - scale * (timeS[i] as number));
}

/** Two-sided chance of a correlation this strong, by Fisher's z; `spent` parameters were fitted before. */
function chanceOfPair(x: Float64Array, y: Float64Array, spent: number): number {
  const independent = independentPairs(x, y) - spent;
  if (!(independent > 3.5)) return 1;
  const r = Math.min(0.999999, Math.abs(pearson(x, y)));
  return erfc((Math.atanh(r) * Math.sqrt(independent - 3)) / Math.SQRT2);
}

/** Any two drifts go together, so what counts is the greater chance of the two: with their drifts and without. */
function chanceOf(pairs: Pairs, byRank: boolean): number {
  const few = fewer(pairs);
  const { timeS } = few;
  const x = byRank ? ranks(few.x) : few.x;
  const y = byRank ? ranks(few.y) : few.y;
  return Math.max(chanceOfPair(x, y, 0), chanceOfPair(withoutDrift(timeS, x), withoutDrift(timeS, y), 1));
}

export function fitDetail(grid: FieldGrid, series: ReferenceSeries, shift: Shift, random: Random): Detail | null {
  const pairs = pairUp(grid.series, series, shift.shiftS, grid.holdS);
  if (pairs.x.length < 3) return null;
  const line = robustLineOfMany(pairs.x, pairs.y, random);
  const few = pairs.x.length < 30;
  const independent = few ? pairs.x.length - 2 : Math.max(line.independent - 2, 4);
  const t = studentQuantile(0.975, independent);
  const bent = bentTie(pairs, line);
  const { scaleSe, offsetSe } = errorsOf(pairs, line, movedWith(grid, series, shift, line));
  return {
    line,
    shiftS: shift.shiftS,
    residual: bent?.residual ?? pairs.y.map((y, i) => y - line.offset - line.scale * (pairs.x[i] as number)),
    bent,
    pairs,
    scaleSe,
    offsetSe,
    scaleHalf: t * scaleSe,
    offsetHalf: t * offsetSe,
    independent,
    p: chanceOf(pairs, bent !== null),
  };
}
