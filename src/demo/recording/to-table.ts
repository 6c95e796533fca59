/** A recording as a `FrameTable` at once, without going through a file: for scorecards over many vehicles. */
import { FrameBuilder } from '../../frames/builder.ts';
import { FD_BIT_RATE_SWITCH, FD_FORMAT, type FrameTable } from '../../frames/table.ts';
import { frameAt, isOwn, type Recording } from './logger.ts';

const MICROS = 1_000_000;

function originText(recording: Recording, firstUs: number): string {
  const seconds = Math.floor(firstUs / MICROS);
  const micros = String(Math.round(firstUs - seconds * MICROS)).padStart(6, '0');
  return `${recording.startEpochS + seconds}.${micros}`;
}

export function tableOf(recording: Recording): FrameTable {
  const builder = new FrameBuilder();
  const { vehicle } = recording;
  const buses = vehicle.buses.map(({ name }) => builder.busIndex(name));
  const slots = vehicle.frames.map(() => null as ReturnType<FrameBuilder['slot']> | null);
  for (let row = 0; row < recording.count; row++) {
    const index = recording.frame[row] as number;
    const frame = frameAt(recording, row);
    const slot = (slots[index] ??= builder.slot(buses[frame.bus] as number, frame.id, frame.extended, isOwn(frame)));
    const flags = frame.fd ? FD_FORMAT | FD_BIT_RATE_SWITCH : 0;
    const at = recording.at[row] as number;
    builder.add(slot, recording.timeUs[row] as number, recording.payload, at, frame.map.length, flags);
  }
  return builder.finish({
    files: () => [],
    origin: (firstUs) => ({ kind: 'epoch', text: originText(recording, firstUs) }),
  });
}
