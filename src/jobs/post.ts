/**
 * What goes between threads: copies of columns that own their buffers, and the list of buffers to transfer. A view is never
 * posted: it would drag its whole parent buffer along.
 */
import type { FrameTable, Stream } from '../frames/table.ts';

const ownsBuffer = (view: ArrayBufferView): boolean => view.byteLength === view.buffer.byteLength;

export function copyStream(stream: Stream): Stream {
  return {
    ...stream,
    timeUs: stream.timeUs.slice(),
    arrival: stream.arrival.slice(),
    payload: stream.payload.slice(),
    lengths: stream.lengths && stream.lengths.slice(),
    fdFlags: stream.fdFlags && stream.fdFlags.slice(),
  };
}

/** A table that may be transferred; what was rejected in reading stays behind. */
export async function copyTable(
  table: FrameTable,
  breathe: () => Promise<void> = async () => undefined,
): Promise<FrameTable> {
  const streams: Stream[] = [];
  for (const stream of table.streams) {
    streams.push(copyStream(stream));
    await breathe();
  }
  const errors = table.errors.map((error) => ({ ...error, timeUs: error.timeUs.slice() }));
  return { ...table, streams, errors, files: table.files.map((file) => ({ ...file, rejects: [] })) };
}

function collect(value: unknown, into: Set<ArrayBufferLike>): void {
  if (value === null || typeof value !== 'object') return;
  if (ArrayBuffer.isView(value)) {
    if (ownsBuffer(value)) into.add(value.buffer);
    return;
  }
  for (const inner of Array.isArray(value) ? value : Object.values(value)) collect(inner, into);
}

/** The buffers that an answer's typed arrays own, each once. */
export function buffersOf(value: unknown): ArrayBuffer[] {
  const buffers = new Set<ArrayBufferLike>();
  collect(value, buffers);
  return [...buffers] as ArrayBuffer[];
}
