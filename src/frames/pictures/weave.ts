/** The weave of one identifier: for each bit and column of time, how often it is set and how often it toggles. */
import type { Stream } from '../table.ts';
import { addRun, emptyCounts, type BitPyramid } from './bit-counts.ts';
import { columnEdges } from './columns.ts';
import { keyOf } from './keys.ts';
import type { Steps } from './steps.ts';
import type { Gap, WeavePicture, Window } from './types.ts';

const BYTES_A_STEP = 400_000;

/**
 * @param gaps silences of this stream, seconds; those that touch the window are kept
 * Cost: O(columns * stride * BLOCK_ROWS) at most, however long the capture.
 */
export function* weave(
  stream: Stream,
  pyramid: BitPyramid,
  window: Window,
  gaps: readonly Gap[] = [],
): Steps<WeavePicture> {
  const { columns } = window;
  const bits = stream.stride * 8;
  const edges = columnEdges(stream.timeUs, window);
  const frames = new Uint32Array(columns);
  const set = new Float32Array(bits * columns);
  const changed = new Float32Array(bits * columns);
  const counts = emptyCounts(stream.stride);
  let work = 0;
  for (let column = 0; column < columns; column++) {
    const from = edges[column] as number;
    const to = edges[column + 1] as number;
    if (to === from) continue;
    counts.set.fill(0);
    counts.toggled.fill(0);
    addRun(stream, pyramid, from, to, counts);
    frames[column] = to - from;
    for (let bit = 0; bit < bits; bit++) {
      set[bit * columns + column] = (counts.set[bit] as number) / (to - from);
      changed[bit * columns + column] = (counts.toggled[bit] as number) / (to - from);
    }
    work += stream.stride * Math.min(to - from, 128) + bits;
    if (work > BYTES_A_STEP) {
      work = 0;
      yield;
    }
  }
  const inWindow = gaps.filter((gap) => gap.toS >= window.fromS && gap.fromS <= window.toS);
  return { stream: keyOf(stream), window, bytes: stream.stride, frames, set, changed, gaps: inWindow };
}
