/**
 * Whether the marks' clock runs faster or slower than the capture's: a line through the answers' lags over time (least squares, answers far from the line
 * left out), claimed only where its slope is beyond its own error.
 */
import { mean } from '../kit/statistics/order.ts';
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

interface Line {
  readonly middleS: number;
  readonly lagS: number;
  readonly slope: number;
  readonly slopeSe: number;
}

function lineThrough(lags: readonly TimedLag[]): Line {
  const middleS = mean(lags.map(({ atS }) => atS));
  const lagS = mean(lags.map((each) => each.lagS));
  const spread = lags.reduce((sum, { atS }) => sum + (atS - middleS) ** 2, 0);
  const slope = lags.reduce((sum, each) => sum + (each.atS - middleS) * (each.lagS - lagS), 0) / spread;
  const left = lags.reduce((sum, each) => sum + (each.lagS - lagS - slope * (each.atS - middleS)) ** 2, 0);
  return { middleS, lagS, slope, slopeSe: Math.sqrt(left / (lags.length - 2) / spread) };
}

/** @param startS lag at which most answers lie; null where the clocks keep step as far as can be told */
export function driftOf(lags: readonly TimedLag[], startS: number): Drift | null {
  let near = lags.filter(({ lagS }) => Math.abs(lagS - startS) <= NEAR_S);
  for (let round = 0; round < ROUNDS; round++) {
    if (near.length < ANSWERS_LEAST) return null;
    const { middleS, lagS, slope } = lineThrough(near);
    near = lags.filter((each) => Math.abs(each.lagS - lagS - slope * (each.atS - middleS)) <= NEAR_S);
  }
  if (near.length < ANSWERS_LEAST) return null;
  const { slope, slopeSe } = lineThrough(near);
  if (!(Math.abs(slope) > BEYOND * slopeSe)) return null;
  const times = near.map(({ atS }) => atS);
  // A clock that runs fast is ahead by more each time: less must be added to its marks.
  return { ppm: -slope * 1e6, sePpm: slopeSe * 1e6, overS: Math.max(...times) - Math.min(...times) };
}
