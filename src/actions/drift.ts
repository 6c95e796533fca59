/**
 * Whether the marks' clock runs faster or slower than the capture's: a line through the answers' lags over time (least squares, answers far from the line
 * left out), claimed only where its slope is beyond its own error.
 */
import { ordinaryLine, type Line } from '../kit/statistics/line.ts';
import type { Drift } from './types.ts';

export interface TimedLag {
  /** When the mark was made, seconds on the capture's clock. */
  readonly atS: number;
  readonly lagS: number;
}

const ANSWERS_LEAST = 12;
/** Answers of one reaction lie within this of the line. */
const NEAR_S = 0.3;
const ROUNDS = 5;
/** Slopes are looked for everywhere, so that one in twenty would be beyond two of its errors. */
const BEYOND = 3;

const lineThrough = (lags: readonly TimedLag[]): Line =>
  ordinaryLine(
    lags.map(({ atS }) => atS),
    lags.map(({ lagS }) => lagS),
  );

/** @param startS lag at which most answers lie; null where the clocks keep step as far as can be told */
export function driftOf(lags: readonly TimedLag[], startS: number): Drift | null {
  let near = lags.filter(({ lagS }) => Math.abs(lagS - startS) <= NEAR_S);
  for (let round = 0; round < ROUNDS; round++) {
    if (near.length < ANSWERS_LEAST) return null;
    const { scale, offset } = lineThrough(near);
    near = lags.filter(({ atS, lagS }) => Math.abs(lagS - offset - scale * atS) <= NEAR_S);
  }
  if (near.length < ANSWERS_LEAST) return null;
  const { scale, scaleSe } = lineThrough(near);
  if (!(Math.abs(scale) > BEYOND * scaleSe)) return null;
  const times = near.map(({ atS }) => atS);
  // A clock that runs fast is ahead by more each time: less must be added to its marks.
  return { ppm: -scale * 1e6, sePpm: scaleSe * 1e6, overS: Math.max(...times) - Math.min(...times) };
}
