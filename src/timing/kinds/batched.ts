/**
 * Frames that share stamps, because an adapter delivers in batches or the clock is coarse. Order and spacing within a batch are lost; what is
 * left is whether the number of frames keeps pace with the clock: up to each stamp a sender on a grid has sent as many frames
 * as periods have passed, give or take one, where frames at random stray by the root of their number.
 */
import { gapLimit, percent, showMs, toMs, type TimingFinding } from './finding.ts';
import { quantile, robustSd, sortedSample } from '../robust.ts';

/** Stray against random frames below which a stream keeps pace. */
const STRAY_MAX = 0.35;
/** Frames over which the pace is checked. */
const FRAMES_ACROSS = 100;
const BATCHES_LEAST = 20;

interface Batches {
  /** [batches] distinct stamps. */
  readonly stampUs: Float64Array;
  /** [batches] frames up to and with that stamp. */
  readonly upTo: Float64Array;
}

function batchesOf(timeUs: Float64Array): Batches {
  const stamps: number[] = [];
  const upTo: number[] = [];
  for (let row = 0; row < timeUs.length; row++) {
    if (row + 1 < timeUs.length && timeUs[row + 1] === timeUs[row]) continue;
    stamps.push(timeUs[row] as number);
    upTo.push(row + 1);
  }
  return { stampUs: Float64Array.from(stamps), upTo: Float64Array.from(upTo) };
}

/** Frames that came in `lag` batches less those that periods would make, for every batch: in periods. */
function strays({ stampUs, upTo }: Batches, lag: number, periodUs: number): Float64Array {
  const out = new Float64Array(stampUs.length - lag);
  for (let i = 0; i < out.length; i++) {
    const frames = (upTo[i + lag] as number) - (upTo[i] as number);
    out[i] = frames - ((stampUs[i + lag] as number) - (stampUs[i] as number)) / periodUs;
  }
  return out;
}

/** Mean interval over what is no silence. */
function pace(spacing: Float64Array): number {
  const sorted = sortedSample(spacing.filter((us) => us > 0));
  const limitUs = 5 * quantile(sorted, 0.95);
  let spanUs = 0;
  let steps = 0;
  for (const us of spacing) {
    if (us > limitUs) continue;
    spanUs += us;
    steps++;
  }
  return spanUs / steps;
}

/** Time of each frame less that of its tick, the phase taken anew every FRAMES_ACROSS frames. */
function jitter(timeUs: Float64Array, periodUs: number): number {
  const residual = new Float64Array(timeUs.length);
  for (let from = 0; from < timeUs.length; from += FRAMES_ACROSS) {
    const to = Math.min(from + FRAMES_ACROSS, timeUs.length);
    for (let row = from; row < to; row++) residual[row] = (timeUs[row] as number) - (row - from) * periodUs;
    const phase = quantile(residual.slice(from, to).sort(), 0.5);
    for (let row = from; row < to; row++) residual[row] = (residual[row] as number) - phase;
  }
  return robustSd(residual);
}

/** @param same share of frames with the stamp of the one before. null where the number of frames keeps no pace. O(n). */
export function judgeBatched(timeUs: Float64Array, spacing: Float64Array, same: number): TimingFinding | null {
  const batches = batchesOf(timeUs);
  const periodUs = pace(spacing);
  const framesEach = timeUs.length / batches.stampUs.length;
  const lag = Math.min(Math.ceil(FRAMES_ACROSS / framesEach), Math.floor(batches.stampUs.length / 4));
  if (batches.stampUs.length < BATCHES_LEAST || lag < 1 || !(periodUs > 0)) return null;
  const stray = robustSd(strays(batches, lag, periodUs)) / Math.sqrt(lag * framesEach);
  if (stray > STRAY_MAX) return null;
  return {
    timing: { kind: 'periodic', periodMs: toMs(periodUs), jitterMs: toMs(jitter(timeUs, periodUs)) },
    why: `${percent(same)} of the frames carry the stamp of the one before, yet their number keeps pace at one in ${showMs(periodUs)}`,
    gapLimitUs: gapLimit(periodUs, spacing),
    ticks: null,
  };
}
