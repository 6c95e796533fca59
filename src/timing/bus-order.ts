/** What the frames of one bus say together, whoever sent them: silence, shared stamps, batches. */
import type { Steps } from '../frames/pictures/steps.ts';
import type { BusFrames } from './bus-frames.ts';
import { sampleSpacings, type Spacings } from './clock/spacings.ts';
import { median } from './robust.ts';
import type { Gap } from './types.ts';

/** Frames that carry the very stamp of the frame before. */
export function countSameStamps(timeUs: Float64Array): number {
  let same = 0;
  for (let i = 1; i < timeUs.length; i++) if (timeUs[i] === timeUs[i - 1]) same++;
  return same;
}

/** Intervals longer than the limit. */
export function silences(timeUs: Float64Array, limitUs: number): Gap[] {
  const gaps: Gap[] = [];
  if (limitUs === Infinity) return gaps;
  for (let i = 1; i < timeUs.length; i++) {
    const before = timeUs[i - 1] as number;
    const after = timeUs[i] as number;
    if (after - before > limitUs) gaps.push({ fromS: before / 1e6, toS: after / 1e6 });
  }
  return gaps;
}

/** What a bus's frames say together. */
export interface BusOrder {
  readonly sameStamps: number;
  /** How far apart batches come, where frames share stamps or follow one another faster than any wire allows; else 0. */
  readonly batchUs: number;
  /** A sample of the distances between neighbours. */
  readonly spacings: Spacings;
  /** Stretches in which the whole bus was silent. */
  readonly gaps: readonly Gap[];
}

/** No frame takes less on any wire: 1 Mbit/s during arbitration, 30 bits of it at the very least. */
const FRAME_LEAST_US = 20;
const BATCHED_SHARE = 0.3;

const SPACINGS_LOOKED_AT = 50_000;

/** Median distance of batches; 0 where fewer than BATCHED_SHARE of the frames follow faster than a wire allows. Cost: a sample. */
function batchDistance(timeUs: Float64Array): number {
  const steps = Math.max(0, timeUs.length - 1);
  const looked = Math.min(SPACINGS_LOOKED_AT, steps);
  const spacing = Float64Array.from({ length: looked }, (_, i) => {
    const row = Math.floor((i * steps) / looked);
    return (timeUs[row + 1] as number) - (timeUs[row] as number);
  });
  const apart = spacing.filter((us) => us >= FRAME_LEAST_US);
  return looked - apart.length < BATCHED_SHARE * looked || apart.length === 0 ? 0 : median(apart);
}

/** O(frames of the bus). */
export function* busOrder({ timeUs }: BusFrames, silenceLimitUs: number): Steps<BusOrder> {
  const sameStamps = countSameStamps(timeUs);
  yield;
  const batchUs = batchDistance(timeUs);
  yield;
  return { sameStamps, batchUs, spacings: sampleSpacings(timeUs), gaps: silences(timeUs, silenceLimitUs) };
}
