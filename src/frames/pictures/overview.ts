/** How much every stream moves over a window: frames in each column, and the share of payload bits that toggle a frame. */
import type { FrameTable, Stream } from '../table.ts';
import { lengthAt } from '../table.ts';
import { columnEdges } from './columns.ts';
import { keyOf } from './keys.ts';
import type { Steps } from './steps.ts';
import type { OverviewPicture, Window } from './types.ts';

const MOVEMENT_BLOCK_ROWS = 8;
const ROWS_A_STEP = 60_000;
const COLUMNS_A_STEP = 8_000;

const ONES = Uint8Array.from({ length: 256 }, (_, value) => {
  let ones = 0;
  for (let rest = value; rest > 0; rest >>= 1) ones += rest & 1;
  return ones;
});

/** Payload bits that differ from the row before, in the bytes that both rows have. */
function togglesInRows(stream: Stream, from: number, to: number): number {
  const { payload, stride, lengths } = stream;
  let toggles = 0;
  for (let row = Math.max(from, 1); row < to; row++) {
    const bytes = lengths ? Math.min(lengthAt(stream, row - 1), lengthAt(stream, row)) : stride;
    const at = row * stride;
    for (let byte = 0; byte < bytes; byte++) {
      toggles += ONES[(payload[at + byte] as number) ^ (payload[at + byte - stride] as number)] as number;
    }
  }
  return toggles;
}

/** [blocks + 1] toggles over rows 0..block * MOVEMENT_BLOCK_ROWS - 1: a byte a row. */
export function* movementSums(stream: Stream): Steps<Float64Array> {
  const blocks = Math.floor(stream.count / MOVEMENT_BLOCK_ROWS);
  const sums = new Float64Array(blocks + 1);
  const blocksAStep = Math.max(1, Math.floor((ROWS_A_STEP * 8) / (stream.stride * MOVEMENT_BLOCK_ROWS)));
  for (let block = 0; block < blocks; block++) {
    const row = block * MOVEMENT_BLOCK_ROWS;
    sums[block + 1] = (sums[block] as number) + togglesInRows(stream, row, row + MOVEMENT_BLOCK_ROWS);
    if (block % blocksAStep === blocksAStep - 1) yield;
  }
  return sums;
}

function togglesInRun(stream: Stream, sums: Float64Array, from: number, to: number): number {
  const first = Math.ceil(from / MOVEMENT_BLOCK_ROWS);
  const last = Math.floor(to / MOVEMENT_BLOCK_ROWS);
  if (last <= first) return togglesInRows(stream, from, to);
  return (
    togglesInRows(stream, from, first * MOVEMENT_BLOCK_ROWS) +
    (sums[last] as number) -
    (sums[first] as number) +
    togglesInRows(stream, last * MOVEMENT_BLOCK_ROWS, to)
  );
}

/** @param sumsOf the movement sums of a stream, made once and kept by the caller */
export function* overview(
  table: FrameTable,
  window: Window,
  sumsOf: (stream: Stream) => Float64Array,
): Steps<OverviewPicture> {
  const { columns } = window;
  const frames = new Uint32Array(table.streams.length * columns);
  const movement = new Float32Array(table.streams.length * columns).fill(Number.NaN);
  const streamsAStep = Math.max(1, Math.floor(COLUMNS_A_STEP / columns));
  for (const [place, stream] of table.streams.entries()) {
    const sums = sumsOf(stream);
    const edges = columnEdges(stream.timeUs, window);
    const bits = Math.max(1, stream.length * 8);
    for (let column = 0; column < columns; column++) {
      const from = edges[column] as number;
      const to = edges[column + 1] as number;
      if (to === from) continue;
      frames[place * columns + column] = to - from;
      movement[place * columns + column] = togglesInRun(stream, sums, from, to) / ((to - from) * bits);
    }
    if (place % streamsAStep === streamsAStep - 1) yield;
  }
  return { window, streams: table.streams.map(keyOf), frames, movement };
}
