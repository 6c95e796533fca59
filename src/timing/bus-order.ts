/** All frames of one bus in time order: for what lies between identifiers, such as silence and shared stamps. */
import type { Steps } from '../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../frames/table.ts';
import { MISSING } from '../kit/missing.ts';
import { sampleSpacings, type Spacings } from './clock/spacings.ts';
import { median } from './robust.ts';
import type { Gap } from './types.ts';

const ROWS_A_STEP = 200_000;

/** Lowest and highest rank of the frames of some streams. O(n). */
function* rankRange(streams: readonly Stream[]): Steps<{ least: number; most: number }> {
  let least = Infinity;
  let most = -Infinity;
  for (const { arrival } of streams) {
    for (let row = 0; row < arrival.length; row++) {
      const rank = arrival[row] as number;
      if (rank < least) least = rank;
      if (rank > most) most = rank;
      if (row % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
    }
    yield;
  }
  return { least, most };
}

/** [n] times of all data frames of a bus, ascending. O(n) where the files were in order, else O(n log n). */
function* busTimes(table: FrameTable, bus: string): Steps<Float64Array> {
  const streams = table.streams.filter((stream) => stream.bus === bus);
  if (streams.length === 0) return new Float64Array(0);
  const { least, most } = yield* rankRange(streams);
  const byRank = new Float64Array(most - least + 1).fill(MISSING);
  for (const { arrival, timeUs } of streams) {
    for (let row = 0; row < timeUs.length; row++) {
      byRank[(arrival[row] as number) - least] = timeUs[row] as number;
      if (row % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
    }
    yield;
  }
  return yield* inOrder(byRank);
}

/** Closes the holes left by other buses, and sorts where the files were out of order. In place. */
function* inOrder(byRank: Float64Array): Steps<Float64Array> {
  let kept = 0;
  let ascending = true;
  for (let i = 0; i < byRank.length; i++) {
    const us = byRank[i] as number;
    if (Number.isNaN(us)) continue;
    if (kept > 0 && us < (byRank[kept - 1] as number)) ascending = false;
    byRank[kept++] = us;
    if (i % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
  }
  const times = byRank.subarray(0, kept);
  return ascending ? times : times.sort();
}

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

export function* busOrder(table: FrameTable, bus: string, silenceLimitUs: number): Steps<BusOrder> {
  const timeUs = yield* busTimes(table, bus);
  yield;
  const sameStamps = countSameStamps(timeUs);
  yield;
  const batchUs = batchDistance(timeUs);
  yield;
  return { sameStamps, batchUs, spacings: sampleSpacings(timeUs), gaps: silences(timeUs, silenceLimitUs) };
}
