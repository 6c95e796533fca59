/** A part of a capture in time, as a view: no frame is copied, and times still count from the capture's origin. */
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { FrameTable, Stream } from '../table.ts';
import { lowerBound, upperBound } from './columns.ts';

export interface Span {
  readonly fromS: number;
  /** Included. */
  readonly toS: number;
}

/** Rows from..to - 1 of a stream; the columns are views of the stream's own. */
export function sliceStream(stream: Stream, from: number, to: number): Stream {
  if (from === 0 && to === stream.count) return stream;
  return {
    ...stream,
    count: to - from,
    timeUs: stream.timeUs.subarray(from, to),
    arrival: stream.arrival.subarray(from, to),
    payload: stream.payload.subarray(from * stream.stride, to * stream.stride),
    lengths: stream.lengths && stream.lengths.subarray(from, to),
    fdFlags: stream.fdFlags && stream.fdFlags.subarray(from, to),
  };
}

/** Streams without a frame in the span are left out. Remote frames bear no time and are kept as counted. */
export function trimTable(table: FrameTable, span: Span): FrameTable {
  const fromUs = span.fromS * MICROS_PER_SECOND;
  const toUs = span.toS * MICROS_PER_SECOND;
  const streams = table.streams
    .map((stream) => {
      const from = lowerBound(stream.timeUs, fromUs);
      return sliceStream(stream, from, upperBound(stream.timeUs, toUs, from));
    })
    .filter((stream) => stream.count > 0)
    .map((stream, index) => (stream.index === index ? stream : { ...stream, index }));
  const errors = table.errors.map((errors) => {
    const from = lowerBound(errors.timeUs, fromUs);
    const timeUs = errors.timeUs.subarray(from, upperBound(errors.timeUs, toUs, from));
    return { ...errors, timeUs, count: timeUs.length };
  });
  const frameCount = streams.reduce((sum, stream) => sum + stream.count, 0);
  return { ...table, streams, errors, frameCount, endUs: Math.min(table.endUs, toUs) };
}
