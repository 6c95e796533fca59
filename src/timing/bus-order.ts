/** All frames of one bus in time order: for what lies between identifiers, such as silence and shared stamps. */
import type { Steps } from '../frames/pictures/steps.ts';
import type { FrameTable } from '../frames/table.ts';
import type { Gap } from './types.ts';

/** [n] times of all data frames of a bus, ascending. O(n) where the files were in order, else O(n log n). */
export function* busTimes(table: FrameTable, bus: string): Steps<Float64Array> {
  const streams = table.streams.filter((stream) => stream.bus === bus);
  let least = Infinity;
  let most = -Infinity;
  for (const stream of streams) {
    for (let row = 0; row < stream.count; row++) {
      const rank = stream.arrival[row] as number;
      if (rank < least) least = rank;
      if (rank > most) most = rank;
    }
    yield;
  }
  if (streams.length === 0) return new Float64Array(0);
  const byRank = new Float64Array(most - least + 1).fill(Number.NaN);
  for (const stream of streams) {
    for (let row = 0; row < stream.count; row++) {
      byRank[(stream.arrival[row] as number) - least] = stream.timeUs[row] as number;
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
    if (i % 400_000 === 399_999) yield;
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
