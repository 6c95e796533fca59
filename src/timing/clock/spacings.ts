/**
 * How far apart the frames of one bus are stamped, from runs of neighbours spread over the recording, and what that says of the
 * logger: frames closer than their own length on the wire (ISO 11898-1) were stamped when they were fetched, not when they came. Where a
 * step of the stamps is longer than a frame, sharing a stamp alone says nothing: frames one behind the other then come as often on both
 * sides of a step's border as their length is a part of the step.
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
  /** Share of frames that follow the one before faster than the wire allows; of those with its stamp, more than can have come so. */
  readonly share: number;
  /** Share that carry the very stamp of the frame before. */
  readonly sameStampShare: number;
  /** Median distance of the first frames of batches, microseconds. */
  readonly distanceUs: number;
  /** Frames in a batch: the median, and what one in twenty exceed. */
  readonly frames: number;
  readonly framesMost: number;
  /** Closer than this was taken for too close, microseconds. */
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

/** Stamps err by up to a step each, written and counted; frames are closer than this for sure where it is above 0. */
const STEPS_OFF = 2;
/** Stuff bits aside, and a logger's clock. */
const WIRE_SHARE = 0.95;

/** What of a bus's distances no wire carries. */
interface TooClose {
  readonly linkUs: number;
  readonly share: number;
}

/** By stamps that are finer than a frame is long. */
function closerThan(runs: readonly Float64Array[], linkUs: number, looked: number): TooClose {
  let close = 0;
  for (const run of runs) for (const us of run) if (us < linkUs) close++;
  return { linkUs, share: close / looked };
}

/** So many standard deviations of a count are chance. */
const CHANCE_SD = 3;

/**
 * By stamps whose step holds several frames. Of two frames that begin `g` apart, `g` being at least a frame and less than a step, the share
 * g / step lies on both sides of a border. So of those that are a step apart at most, the share that frames' length is of a step is a
 * step apart; those with one stamp beyond what that allows were stamped together. And no more have one stamp than fit into a step.
 */
function moreThanFit(runs: readonly Float64Array[], leastUs: number, stepUs: number, looked: number): TooClose {
  const linkUs = stepUs / 2;
  const fit = 1 + Math.floor(stepUs / leastUs);
  let [same, across, beyond] = [0, 0, 0];
  for (const run of runs) {
    let frames = 1;
    for (const us of run) {
      frames = us < linkUs ? frames + 1 : 1;
      if (us < linkUs) same++;
      else if (us < 3 * linkUs) across++;
      // Where one is too many, none is known to have come at that stamp.
      if (frames > fit) beyond += frames === fit + 1 ? fit : 1;
    }
  }
  const most = (across + CHANCE_SD * Math.sqrt(across + 1)) * Math.max(0, stepUs / leastUs - 1);
  return { linkUs, share: Math.max(beyond, same - most, 0) / looked };
}

/**
 * @param leastUs a frame of this bus occupies the wire for so long at least, at the rate that is known or the highest that is plausible
 * @param stepUs what stamps are multiples of in effect
 */
export function judgeBatching({ runs }: Spacings, leastUs: number, stepUs: number): Batching | null {
  const looked = runs.reduce((sum, run) => sum + run.length, 0);
  if (looked < FRAMES_LEAST) return null;
  const sureUs = WIRE_SHARE * leastUs - STEPS_OFF * stepUs;
  const { linkUs, share } =
    sureUs > 0 ? closerThan(runs, sureUs, looked) : moreThanFit(runs, WIRE_SHARE * leastUs, stepUs, looked);
  if (share < SHARE_LEAST) return null;
  const batches = runs.flatMap((run) => batchesIn(run, linkUs));
  const several = batches.filter(({ frames }) => frames > 1);
  if (several.length === 0) return null;
  const same = runs.reduce((sum, run) => sum + run.filter((us) => us === 0).length, 0);
  const sorted = (of: (batch: Batch) => number, from: readonly Batch[]): Float64Array =>
    Float64Array.from(from, of).sort();
  return {
    share,
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
    leastUs: linkUs,
  };
}
