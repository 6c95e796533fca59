/** Distances in time between one identifier's frames, and what they say before any grid is fitted: crowding, bursts, batches. */
import { crowdedMiddle, median, quantile, robustSd, sortedSample, sortedSampleOf } from '../robust.ts';

/** [n - lag] t[i + lag] - t[i]. */
export function intervals(timeUs: Float64Array, lag = 1): Float64Array {
  const out = new Float64Array(Math.max(0, timeUs.length - lag));
  for (let i = 0; i < out.length; i++) out[i] = (timeUs[i + lag] as number) - (timeUs[i] as number);
  return out;
}

/** A sample of t[i + lag] - t[i], ascending: for their middle and spread, without all of them. */
export const sortedIntervals = (timeUs: Float64Array, lag = 1): Float64Array =>
  sortedSampleOf(Math.max(0, timeUs.length - lag), (i) => (timeUs[i + lag] as number) - (timeUs[i] as number));

/** NaN of fewer than two frames. */
export const medianInterval = (timeUs: Float64Array): number => quantile(sortedIntervals(timeUs), 0.5);

/** Share of frames that carry the stamp of the identifier's frame before: adapters that deliver in batches. */
export function sameStampShare(timeUs: Float64Array): number {
  let same = 0;
  for (let i = 1; i < timeUs.length; i++) if (timeUs[i] === timeUs[i - 1]) same++;
  return timeUs.length < 2 ? 0 : same / (timeUs.length - 1);
}

/** Periods worth trying: where intervals crowd, their median, and an eighth of the median over eight frames. */
export function periodGuesses(timeUs: Float64Array, spacing: Float64Array): number[] {
  const sorted = sortedSample(spacing);
  const guesses = [crowdedMiddle(sorted, 0.3), quantile(sorted, 0.5)];
  if (timeUs.length > 16) guesses.push(quantile(sortedIntervals(timeUs, 8), 0.5) / 8);
  const positive = guesses.filter((guess) => guess > 0);
  return positive.filter((guess, i) => positive.findIndex((other) => Math.abs(other / guess - 1) < 0.002) === i);
}

/**
 * Spread of the time that `lag` frames take, against that of frames at random times with the same mean: about 1 at
 * random, near 0 on a grid however much each frame jitters or is batched.
 */
export function dispersion(timeUs: Float64Array, periodUs: number): number {
  const lag = Math.min(128, Math.floor(timeUs.length / 4));
  if (lag < 2) return Number.NaN;
  return robustSd(sortedIntervals(timeUs, lag)) / (periodUs * Math.sqrt(lag));
}

export interface Bursts {
  /** [clusters] time of each burst's first frame. */
  readonly startUs: Float64Array;
  /** Frames in nearly every burst. */
  readonly count: number;
  /** Median interval within a burst. */
  readonly periodUs: number;
}

/** Less than the step from one interval to two, where frames are lost. */
const STEP_LEAST = 1.8;

/** The widest step, as a ratio, between neighbouring sorted intervals; null where none is STEP_LEAST or more. */
function widestStep(sorted: Float64Array): { below: number; above: number } | null {
  let best = STEP_LEAST;
  let found: { below: number; above: number } | null = null;
  for (let i = Math.floor(0.02 * sorted.length) + 1; i < Math.ceil(0.98 * sorted.length); i++) {
    const below = sorted[i - 1] as number;
    const above = sorted[i] as number;
    if (below > 0 && above / below >= best) {
      best = above / below;
      found = { below, above };
    }
  }
  return found;
}

/**
 * Frames sent a few at a time, the same number each time (two short intervals, then a long one). null where intervals have
 * one size, or where the groups differ in number: then they are not a habit of the sender. O(n).
 */
export function findBursts(timeUs: Float64Array, spacing: Float64Array): Bursts | null {
  const step = widestStep(sortedSample(spacing));
  if (!step) return null;
  const limit = Math.sqrt(step.below * step.above);
  const starts = [timeUs[0] as number];
  const sizes = [1];
  for (let i = 0; i < spacing.length; i++) {
    if ((spacing[i] as number) > limit) {
      starts.push(timeUs[i + 1] as number);
      sizes.push(1);
    } else sizes[sizes.length - 1] = (sizes[sizes.length - 1] as number) + 1;
  }
  const whole = sizes.slice(1, -1);
  const count = quantile(Float64Array.from(whole).sort(), 0.5);
  const usual = whole.filter((size) => size === count).length;
  if (whole.length < 4 || count < 2 || usual < 0.8 * whole.length) return null;
  const within = spacing.filter((value) => value <= limit);
  return { startUs: Float64Array.from(starts), count, periodUs: median(within) };
}
