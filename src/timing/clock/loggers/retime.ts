/**
 * Moves one logger's frames onto the first logger's clock. A pure function from table to table: columns of the moved streams are made
 * anew, all others are kept, and the origin follows the first frame. `ownTime` tells the stamps as they were.
 */
import { sortedOrder } from './sorted-order.ts';
import type { ClockPiece, ErrorFrames, FrameTable, Stream } from '../../../frames/table.ts';
import { shiftedSeconds } from '../../../frames/reading/origin.ts';

/** The piece that holds at an instant of the logger's own time; the first one reaches back, the last one on without end. */
function pieceAt(pieces: readonly ClockPiece[], ownUs: number): ClockPiece {
  let at = 0;
  while (at + 1 < pieces.length && ownUs >= (pieces[at + 1] as ClockPiece).fromUs) at++;
  return pieces[at] as ClockPiece;
}

/** From a logger's own time to the first logger's. */
export function commonTime(pieces: readonly ClockPiece[], ownUs: number): number {
  const { byUs, drift, pivotUs } = pieceAt(pieces, ownUs);
  return ownUs + byUs + drift * (ownUs - pivotUs);
}

/** And back: what the file had, to a hundredth of a microsecond. Where pieces overlap, the one whose own time fits. */
export function ownTime(pieces: readonly ClockPiece[], commonUs: number): number {
  const back = ({ byUs, drift, pivotUs }: ClockPiece): number => (commonUs - byUs + drift * pivotUs) / (1 + drift);
  const fits = pieces.find((piece) => pieceAt(pieces, back(piece)) === piece);
  return back(fits ?? (pieces[pieces.length - 1] as ClockPiece));
}

function pick<Column extends Float64Array | Uint32Array | Uint8Array>(column: Column, order: Uint32Array): Column {
  const out = new (column.constructor as new (length: number) => Column)(order.length);
  for (let row = 0; row < order.length; row++) out[row] = column[order[row] as number] as number;
  return out;
}

function inOrder(stream: Stream, order: Uint32Array): Stream {
  const { payload, stride } = stream;
  const moved = new Uint8Array(payload.length);
  for (let row = 0; row < order.length; row++) {
    const from = (order[row] as number) * stride;
    moved.set(payload.subarray(from, from + stride), row * stride);
  }
  return {
    ...stream,
    timeUs: pick(stream.timeUs, order),
    arrival: pick(stream.arrival, order),
    payload: moved,
    lengths: stream.lengths && pick(stream.lengths, order),
    fdFlags: stream.fdFlags && pick(stream.fdFlags, order),
  };
}

function movedStream(stream: Stream, pieces: readonly ClockPiece[]): Stream {
  const moved = { ...stream, timeUs: stream.timeUs.map((us) => commonTime(pieces, us)) };
  const order = sortedOrder(moved.timeUs, moved.arrival);
  return order ? inOrder(moved, order) : moved;
}

const movedErrors = (errors: ErrorFrames, pieces: readonly ClockPiece[]): ErrorFrames => ({
  ...errors,
  timeUs: errors.timeUs.map((us) => commonTime(pieces, us)).sort(),
});

/** Streams of some buses moved; times still count from the table's origin, and may lie before it. */
export function moveBuses(table: FrameTable, buses: ReadonlySet<string>, pieces: readonly ClockPiece[]): FrameTable {
  return {
    ...table,
    streams: table.streams.map((stream) => (buses.has(stream.bus) ? movedStream(stream, pieces) : stream)),
    errors: table.errors.map((errors) => (buses.has(errors.bus) ? movedErrors(errors, pieces) : errors)),
  };
}

/** Counts times from the first frame again, and the origin with them. */
export function withOriginAtFirst(table: FrameTable): FrameTable {
  const all = [...table.streams, ...table.errors];
  const firstUs = all.reduce((first, { timeUs }) => Math.min(first, timeUs[0] ?? Infinity), Infinity);
  if (!Number.isFinite(firstUs)) return table;
  const shift = (timeUs: Float64Array): Float64Array => (firstUs === 0 ? timeUs : timeUs.map((us) => us - firstUs));
  const streams = table.streams.map((stream) => ({ ...stream, timeUs: shift(stream.timeUs) }));
  const errors = table.errors.map((each) => ({ ...each, timeUs: shift(each.timeUs) }));
  const endUs = [...streams, ...errors].reduce((end, { timeUs }) => Math.max(end, timeUs[timeUs.length - 1] ?? 0), 0);
  return {
    ...table,
    streams,
    errors,
    endUs,
    origin: { ...table.origin, text: shiftedSeconds(table.origin.text, firstUs) },
    files: table.files.map((file) => ({
      ...file,
      clockEvents: file.clockEvents.map((event) => ({ ...event, atS: event.atS - firstUs / 1e6 })),
    })),
    ...(table.loggers
      ? {
          loggers: table.loggers.map((logger) => ({
            ...logger,
            pieces: logger.pieces.map((piece) => ({
              ...piece,
              fromUs: piece.fromUs - firstUs,
              pivotUs: piece.pivotUs - firstUs,
            })),
          })),
        }
      : {}),
  };
}
