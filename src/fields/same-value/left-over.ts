/**
 * What a line between two fields leaves, and whether that is rounding and noise. Two quantities that belong together but differ leave something that
 * moves as slowly as they do; one quantity shown twice leaves what does not remember: half the mean square of successive differences is
 * then its variance (von Neumann 1941), and means over stretches of the capture differ no more than its variance makes them (Fisher's F, 1925).
 * What follows a value with a filter between is not that value delayed: x - T x' + T^2 x'' against x - T x' + T^2 x'' / 2, to the second order,
 * so that what is left at the best lag goes with how the value bends.
 */
import { pearson } from '../../kit/statistics/correlation.ts';
import { ValueReader, type Paired } from './pairs.ts';
import type { ComparedField } from './series.ts';

/** What is left beyond so many of its robust deviations is far off. */
export const FAR = 5;

/** Near 1 for rounding and noise, near 0 for something that drifts. residual: of neighbouring moments in twos. */
export function forgetting(residual: Float64Array, spread: number): number {
  const kept = residual.map((value) => Math.max(-FAR * spread, Math.min(FAR * spread, value)));
  const middle = kept.reduce((sum, value) => sum + value / kept.length, 0);
  let [squares, steps] = [0, 0];
  kept.forEach((value, k) => {
    squares += (value - middle) ** 2;
    if (k > 0) steps += (value - (kept[k - 1] as number)) ** 2 / 2;
  });
  return squares > 0 ? steps / squares : 1;
}

const STRETCHES = 8;
/** F with 7 and a hundred degrees of freedom or more is beyond this once in a thousand. */
const DRIFTS_F = 4;

/** [least 2 a stretch] share of the variance that lies between stretches of the capture; 0 where chance would make as much. residual: in order of time. */
export function drifting(residual: Float64Array): number {
  const n = residual.length;
  if (n < 4 * STRETCHES) return 0;
  const middle = residual.reduce((sum, value) => sum + value / n, 0);
  let [between, within] = [0, 0];
  for (let k = 0; k < STRETCHES; k++) {
    const part = residual.subarray(Math.floor((k * n) / STRETCHES), Math.floor(((k + 1) * n) / STRETCHES));
    const mean = part.reduce((sum, value) => sum + value / part.length, 0);
    between += part.length * (mean - middle) ** 2;
    for (const value of part) within += (value - mean) ** 2;
  }
  const f = between / (STRETCHES - 1) / (within / (n - STRETCHES));
  return f >= DRIFTS_F ? between / (between + within) : 0;
}

/** Moments before and after between which a value is seen to bend. */
const BENDS_US = 50_000;

interface Bent {
  /** Share of what is left that goes with how the base bends. */
  readonly share: number;
  /** Time constant of the filter that would leave so much. */
  readonly constantUs: number;
}

/** What is left, by how the base bends at that moment; NaN leaves a point out. */
function bentBy(base: ComparedField, { atUs, x }: Paired, lagUs: number, scale: number, residual: Float64Array): Bent {
  const readers = [new ValueReader(base, 'value'), new ValueReader(base, 'value')] as const;
  const [left, bends]: [number[], number[]] = [[], []];
  residual.forEach((value, k) => {
    const there = (atUs[k] as number) - lagUs;
    const bend = readers[0].at(there - BENDS_US) + readers[1].at(there + BENDS_US) - 2 * (x[k] as number);
    if (Number.isNaN(bend) || Number.isNaN(value)) return;
    left.push(value / scale);
    bends.push(bend);
  });
  if (left.length < 4 * STRETCHES) return { share: 0, constantUs: 0 };
  const products = bends.reduce((sum, bend, k) => sum + bend * (left[k] as number), 0);
  const squares = bends.reduce((sum, bend) => sum + bend * bend, 0);
  const slope = squares > 0 ? Math.abs(products) / squares : 0;
  return { share: pearson(left, bends) ** 2, constantUs: BENDS_US * Math.sqrt(2 * slope) };
}

/**
 * Share of what is left that goes with how the base bends, as a filter leaves it and a delay does not; 0 where no more than reading straight between
 * two of its frames leaves as well. residual: of each pair, NaN where it is far off.
 */
export function filtered(
  base: ComparedField,
  pairs: Paired,
  lagUs: number,
  scale: number,
  residual: Float64Array,
): number {
  const { share, constantUs } = bentBy(base, pairs, lagUs, scale, residual);
  return constantUs > base.periodUs ? share : 0;
}
