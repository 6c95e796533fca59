/** A recording by a writer of captures: every frame in the order in which the logger wrote it. */
import { FD_BIT_RATE_SWITCH, FD_FORMAT } from '../../frames/table.ts';
import { ByteWriter } from '../../frames/writers/byte-writer.ts';
import type { CaptureWriter, WriterOptions } from '../../frames/writers/frame.ts';
import { frameAt, holdsOwn, isOwn, payloadAt, type Recording } from '../recording/logger.ts';

const BYTES_A_FRAME = 52;

export function writtenBy(
  recording: Recording,
  writerOf: (options: WriterOptions) => CaptureWriter,
): Uint8Array<ArrayBuffer> {
  const writer = writerOf({
    buses: recording.vehicle.buses.map(({ name }) => name),
    start: { seconds: recording.startEpochS, us: 0 },
    directed: holdsOwn(recording),
  });
  const out = new ByteWriter(recording.count * BYTES_A_FRAME + 256);
  writer.head(out);
  for (let row = 0; row < recording.count; row++) {
    const frame = frameAt(recording, row);
    writer.frame(out, recording.timeUs[row] as number, {
      bus: frame.bus,
      id: frame.id,
      extended: frame.extended,
      fdFlags: frame.fd ? FD_FORMAT | FD_BIT_RATE_SWITCH : 0,
      direction: isOwn(frame) ? 'sent' : 'received',
      payload: payloadAt(recording, row),
    });
  }
  return out.finish();
}
