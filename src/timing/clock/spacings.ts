/**
 * How far apart the frames of one bus are stamped, from runs of neighbours spread over the recording, and what that says of the
 * logger: frames closer than their own length on the wire (ISO 11898-1) were stamped when they were fetched, not when they came.
 */
import { quantile } from '../robust.ts';

const RUNS = 40;
const RUN_FRAMES = 500;

/** Spacings of neighbours in microseconds, ascending in time within each run. */
export interface Spacings {
  /** [runs][frames - 1] */
  readonly runs: readonly Float64Array[];
}

/** @param timeUs [n] ascending, all frames of one bus. Cost: a sample. */
export function sampleSpacings(timeUs: Float64Array): Spacings {
  const n = timeUs.length;
  const whole = n <= RUNS * RUN_FRAMES;
  const starts = whole ? [0] : Array.from({ length: RUNS }, (_, i) => Math.floor((i * (n - RUN_FRAMES)) / (RUNS - 1)));
  const frames = whole ? n : RUN_FRAMES;
  const runs = starts.map((from) =>
    Float64Array.from({ length: Math.max(0, frames - 1) }, (_, i) => {
      const row = from + i;
      return (timeUs[row + 1] as number) - (timeUs[row] as number);
    }),
  );
  return { runs };
}

export interface Batching {
  /** Share of frames that follow the one before faster than the wire allows. */
  readonly share: number;
  /** Share that carry the very stamp of the frame before. */
  readonly sameStampShare: number;
  /** Median distance of the first frames of batches, microseconds. */
  readonly distanceUs: number;
  /** Frames in a batch: the median, and what one in twenty exceed. */
  readonly frames: number;
  readonly framesMost: number;
  /** What was taken for the least that a frame occupies the wire, microseconds. */
  readonly leastUs: number;
}

/** Fewer batched frames than this share are the exception and no habit. */
const SHARE_LEAST = 0.02;
const FRAMES_LEAST = 50;

interface Batch {
  frames: number;
  lastsUs: number;
}

/** Whole batches: those cut by the ends of a run are left out. */
function batchesIn(run: Float64Array, leastUs: number): Batch[] {
  const batches: Batch[] = [];
  let current: Batch | null = null;
  for (const us of run) {
    if (us < leastUs) {
      if (current) {
        current.frames++;
        current.lastsUs += us;
      }
    } else {
      if (current) batches.push({ frames: current.frames, lastsUs: current.lastsUs + us });
      current = { frames: 1, lastsUs: 0 };
    }
  }
  return batches;
}

/**
 * @param leastUs a frame of this bus occupies the wire for so long at least, at the rate that is known or the highest that is plausible;
 *   less what stamps may be off by
 */
export function judgeBatching({ runs }: Spacings, leastUs: number): Batching | null {
  let [looked, close, same] = [0, 0, 0];
  for (const run of runs) {
    looked += run.length;
    for (const us of run) {
      if (us < leastUs) close++;
      if (us === 0) same++;
    }
  }
  if (looked < FRAMES_LEAST || close < SHARE_LEAST * looked) return null;
  const batches = runs.flatMap((run) => batchesIn(run, leastUs));
  const several = batches.filter(({ frames }) => frames > 1);
  if (several.length === 0) return null;
  const sorted = (of: (batch: Batch) => number, from: readonly Batch[]): Float64Array =>
    Float64Array.from(from, of).sort();
  return {
    share: close / looked,
    sameStampShare: same / looked,
    distanceUs: quantile(
      sorted((batch) => batch.lastsUs, batches),
      0.5,
    ),
    frames: quantile(
      sorted((batch) => batch.frames, several),
      0.5,
    ),
    framesMost: quantile(
      sorted((batch) => batch.frames, several),
      0.95,
    ),
    leastUs,
  };
}
