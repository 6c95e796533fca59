/**
 * How a frame's signals went over a capture, as the report draws it: least and greatest in each column of time. What a column lacks is held from
 * the one before for as long as the frame is usually silent; longer, and it stays a hole.
 */
import type { Stream } from '../../frames/table.ts';
import { trace, traceBlocks } from '../../frames/pictures/trace.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FieldReader } from '../../frames/pictures/values.ts';
import type { TraceRequest } from '../../frames/pictures/types.ts';
import { bigOf } from '../../map/raw-values.ts';
import type { MapFrame, MapSignal } from '../../map/schema.ts';

export interface TracesWindow {
  readonly fromS: number;
  readonly toS: number;
  readonly columns: number;
}

export interface SignalTrace {
  /** Index into the frame's signals. */
  readonly signal: number;
  /** [columns] NaN in a hole. */
  readonly low: Float32Array;
  readonly high: Float32Array;
  readonly least: number;
  readonly greatest: number;
}

export interface FrameTraces {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly signals: readonly SignalTrace[];
}

export interface ReportTraces {
  /** Of the capture that they were read from; for a person. */
  readonly title: string;
  readonly window: TracesWindow;
  readonly frames: readonly FrameTraces[];
}

const HELD_FOR_INTERVALS = 5;
/** Rows looked at for how far apart values usually are. */
const INTERVALS_LOOKED_AT = 400;

function requestOf(frame: MapFrame, signal: MapSignal, stream: Stream): TraceRequest {
  return {
    stream,
    placement: signal,
    coding: signal.coding,
    when: signal.when,
    selectors: frame.selectors,
    scale: signal.scale,
    offset: signal.offset,
    table: signal.table,
    invalid: signal.invalid.map(({ from, to }) => ({ from: Number(bigOf(from)), to: Number(bigOf(to)) })),
  };
}

/** Median time between rows that carry the field, in seconds; infinite with fewer than two. */
function usualIntervalS(stream: Stream, reader: FieldReader): number {
  const times: number[] = [];
  for (let row = 0; row < stream.count && times.length < INTERVALS_LOOKED_AT; row++)
    if (reader.carries(row)) times.push(stream.timeUs[row] as number);
  const between = times.slice(1).map((at, k) => (at - (times[k] as number)) / 1e6);
  return between.toSorted((a, b) => a - b)[between.length >> 1] ?? Number.POSITIVE_INFINITY;
}

/** Fills short holes with the last value before them, in place. */
function hold(low: Float32Array, high: Float32Array, last: Float64Array, columns: number): void {
  let from = -1;
  for (let column = 0; column < low.length; column++) {
    if (!Number.isNaN(low[column] as number)) {
      if (from >= 0 && column - from - 1 <= columns) {
        low.fill(last[from] as number, from + 1, column);
        high.fill(last[from] as number, from + 1, column);
      }
      from = column;
    }
  }
}

/** A text has no trace, nor has what never carried a value. Cost: a read a row and signal. */
export function* frameTraces(stream: Stream, frame: MapFrame, window: TracesWindow): Steps<FrameTraces> {
  const signals: SignalTrace[] = [];
  for (const [index, signal] of frame.signals.entries()) {
    if (signal.coding === 'text') continue;
    const blocks = yield* traceBlocks(stream, requestOf(frame, signal, stream));
    if (Number.isNaN(blocks.least)) continue;
    const picture = yield* trace(stream, blocks, window);
    const [low, high] = [Float32Array.from(picture.low), Float32Array.from(picture.high)];
    const columnS = (window.toS - window.fromS) / window.columns;
    hold(low, high, picture.last, Math.ceil((HELD_FOR_INTERVALS * usualIntervalS(stream, blocks.reader)) / columnS));
    signals.push({ signal: index, low, high, least: blocks.least, greatest: blocks.greatest });
  }
  const { bus, id, extended } = frame;
  return { bus, id, extended, signals };
}

/** All traces together keep to about so many columns: a report of many signals stays small enough to be sent around. */
const COLUMNS_IN_ALL = 90_000;
/** One, two, three or six pixels wide as drawn: paths of whole steps are half as long. */
const COLUMNS = [354, 177, 118, 59] as const;

export const columnsFor = (signals: number): number =>
  COLUMNS.find((columns) => columns * signals <= COLUMNS_IN_ALL) ?? (COLUMNS.at(-1) as number);
