/**
 * A field over time: least, greatest and last value in each column. Least and greatest of every block of rows are made once a
 * field and kept, so that a column costs its whole blocks plus at most two part blocks.
 */
import type { Stream } from '../table.ts';
import { columnEdges, rowAt } from './columns.ts';
import type { Steps } from './steps.ts';
import type { Gap, RepetitionShape, RepetitionsPicture, TracePicture, TraceRequest, Window } from './types.ts';
import { fieldReader, type FieldReader } from './values.ts';

const TRACE_BLOCK_ROWS = 64;
/** Blocks that are joined again: a column over 600,000 rows would otherwise walk thousands of them. */
const BLOCKS_A_GROUP = 32;
const ROWS_A_STEP = 40_000;
const COLUMNS_A_STEP = 400;

/** Least and greatest value of every block, and of every group of blocks; NaN where none has a value. */
export interface TraceBlocks {
  readonly reader: FieldReader;
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly groupLow: Float64Array;
  readonly groupHigh: Float64Array;
  readonly least: number;
  readonly greatest: number;
}

export const traceBlocksBytes = (blocks: TraceBlocks): number =>
  2 * (blocks.low.byteLength + blocks.groupLow.byteLength);

interface Extent {
  low: number;
  high: number;
}

/** Comparisons with NaN are false on purpose: a row without a value changes nothing once there is one. */
function widen(extent: Extent, low: number, high: number): void {
  if (low < extent.low || Number.isNaN(extent.low)) extent.low = low;
  if (high > extent.high || Number.isNaN(extent.high)) extent.high = high;
}

function widenByRows(extent: Extent, reader: FieldReader, from: number, to: number): void {
  for (let row = from; row < to; row++) {
    const value = reader.value(row);
    if (!Number.isNaN(value)) widen(extent, value, value);
  }
}

const nothing = (): Extent => ({ low: Number.NaN, high: Number.NaN });

/** O(rows), once a field. */
export function* traceBlocks(stream: Stream, request: TraceRequest): Steps<TraceBlocks> {
  const reader = fieldReader(stream, request);
  const count = Math.ceil(stream.count / TRACE_BLOCK_ROWS);
  const low = new Float64Array(count);
  const high = new Float64Array(count);
  const groupLow = new Float64Array(Math.ceil(count / BLOCKS_A_GROUP)).fill(Number.NaN);
  const groupHigh = groupLow.slice();
  const whole = nothing();
  const blocksAStep = Math.floor(ROWS_A_STEP / TRACE_BLOCK_ROWS);
  for (let block = 0; block < count; block++) {
    const extent = nothing();
    widenByRows(extent, reader, block * TRACE_BLOCK_ROWS, Math.min((block + 1) * TRACE_BLOCK_ROWS, stream.count));
    low[block] = extent.low;
    high[block] = extent.high;
    const group = Math.floor(block / BLOCKS_A_GROUP);
    const joined = { low: groupLow[group] as number, high: groupHigh[group] as number };
    widen(joined, extent.low, extent.high);
    groupLow[group] = joined.low;
    groupHigh[group] = joined.high;
    widen(whole, extent.low, extent.high);
    if (block % blocksAStep === blocksAStep - 1) yield;
  }
  return { reader, low, high, groupLow, groupHigh, least: whole.low, greatest: whole.high };
}

function widenByBlocks(extent: Extent, blocks: TraceBlocks, first: number, last: number): void {
  for (let block = first; block < last;) {
    const group = block / BLOCKS_A_GROUP;
    if (Number.isInteger(group) && block + BLOCKS_A_GROUP <= last) {
      widen(extent, blocks.groupLow[group] as number, blocks.groupHigh[group] as number);
      block += BLOCKS_A_GROUP;
    } else {
      widen(extent, blocks.low[block] as number, blocks.high[block] as number);
      block++;
    }
  }
}

function extentOf(blocks: TraceBlocks, from: number, to: number): Extent {
  const extent = nothing();
  const first = Math.ceil(from / TRACE_BLOCK_ROWS);
  const last = Math.floor(to / TRACE_BLOCK_ROWS);
  if (last <= first) {
    widenByRows(extent, blocks.reader, from, to);
    return extent;
  }
  widenByRows(extent, blocks.reader, from, first * TRACE_BLOCK_ROWS);
  widenByBlocks(extent, blocks, first, last);
  widenByRows(extent, blocks.reader, last * TRACE_BLOCK_ROWS, to);
  return extent;
}

/** The last value in rows from..to - 1, passing over whole blocks without one. NaN where there is none. */
function lastValue(blocks: TraceBlocks, from: number, to: number): number {
  for (let row = to - 1; row >= from;) {
    const block = Math.floor(row / TRACE_BLOCK_ROWS);
    const start = Math.max(from, block * TRACE_BLOCK_ROWS);
    if (!Number.isNaN(blocks.low[block] as number)) {
      for (let at = row; at >= start; at--) {
        const value = blocks.reader.value(at);
        if (!Number.isNaN(value)) return value;
      }
    }
    row = start - 1;
  }
  return Number.NaN;
}

/** Cost: O(columns * TRACE_BLOCK_ROWS) field reads at most, however long the capture. */
export function* trace(stream: Stream, blocks: TraceBlocks, window: Window): Steps<TracePicture> {
  const edges = columnEdges(stream.timeUs, window);
  const low = new Float64Array(window.columns).fill(Number.NaN);
  const high = low.slice();
  const last = low.slice();
  for (let column = 0; column < window.columns; column++) {
    const from = edges[column] as number;
    const to = edges[column + 1] as number;
    if (to > from) {
      const extent = extentOf(blocks, from, to);
      low[column] = extent.low;
      high[column] = extent.high;
      last[column] = Number.isNaN(extent.low) ? Number.NaN : lastValue(blocks, from, to);
    }
    if (column % COLUMNS_A_STEP === COLUMNS_A_STEP - 1) yield;
  }
  return { window, low, high, last, least: blocks.least, greatest: blocks.greatest };
}

/**
 * The field in the last frame at or before an instant that carries it; NaN before its first one, and where that
 * frame says "no value".
 */
export function valueAt(stream: Stream, reader: FieldReader, atUs: number): number {
  for (let row = rowAt(stream.timeUs, atUs); row >= 0; row--) {
    if (reader.carries(row)) return reader.value(row);
  }
  return Number.NaN;
}

/**
 * One row a mark: the value held at the middle of each column. NaN before the first frame, inside the given silences
 * and after the stream's last frame.
 */
export function* repetitions(
  stream: Stream,
  reader: FieldReader,
  startsS: readonly number[],
  shape: RepetitionShape,
  gaps: readonly Gap[] = [],
): Steps<RepetitionsPicture> {
  const { beforeS, afterS, columns } = shape;
  const values = new Float32Array(startsS.length * columns).fill(Number.NaN);
  const lastUs = stream.count > 0 ? (stream.timeUs[stream.count - 1] as number) : -Infinity;
  const silent = (atS: number): boolean => gaps.some((gap) => atS > gap.fromS && atS < gap.toS);
  for (const [row, startS] of startsS.entries()) {
    for (let column = 0; column < columns; column++) {
      const atS = startS - beforeS + ((column + 0.5) * (beforeS + afterS)) / columns;
      if (atS * 1e6 > lastUs || silent(atS)) continue;
      values[row * columns + column] = valueAt(stream, reader, atS * 1e6);
    }
    yield;
  }
  return { beforeS, afterS, columns, rows: startsS.length, values };
}
