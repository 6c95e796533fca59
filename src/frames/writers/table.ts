/** What a table's streams are to a writer: frames as they were read, one after the other in the caller's order. */
import { FD_FORMAT, payloadAt, type FrameTable, type Stream } from '../table.ts';
import { startOf, type FrameToWrite, type WriterOptions } from './frame.ts';

const MICROSECOND_DECIMALS = 6;

/** One frame of a stream. payload: in place of the recorded one. */
export function frameOf(
  buses: readonly string[],
  stream: Stream,
  row: number,
  payload = payloadAt(stream, row),
): FrameToWrite {
  const { id, extended, direction } = stream;
  // More than eight bytes are never classical, whatever a file without flags says.
  const fdFlags = stream.fdFlags?.[row] ?? (payload.length > 8 ? FD_FORMAT : 0);
  return { bus: buses.indexOf(stream.bus), id, extended, direction, fdFlags, payload };
}

/** Buses, start, whether the direction is told and how fine stamps are, as a capture was recorded. */
export const optionsOf = ({ buses, origin, streams }: FrameTable): WriterOptions => ({
  buses,
  start: startOf(origin),
  directed: streams.some(({ direction }) => direction === 'sent'),
  // The origin is written with all decimals that the file has.
  nanoseconds: (origin.text.split('.')[1]?.length ?? 0) > MICROSECOND_DECIMALS,
});
