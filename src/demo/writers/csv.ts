/** A recording as CSV: a header, relative seconds, bus, identifier with 0x, length, one column of spaced payload bytes. */
import { busOf, frameAt, payloadAt, type Recording } from '../recording/logger.ts';
import { ByteWriter } from '../../frames/writers/byte-writer.ts';

const MICROS = 1_000_000;

export function writeCsv(recording: Recording): Uint8Array<ArrayBuffer> {
  const out = new ByteWriter(recording.count * 60);
  out.ascii('time,channel,id,extended,length,data\n');
  for (let row = 0; row < recording.count; row++) {
    const frame = frameAt(recording, row);
    const timeUs = recording.timeUs[row] as number;
    const seconds = Math.floor(timeUs / MICROS);
    out.digits(recording.startEpochS + seconds, 1);
    out.ascii('.');
    out.digits(timeUs - seconds * MICROS, 6);
    out.ascii(`,${busOf(recording, frame).name},0x`);
    out.hex(frame.id, frame.extended ? 8 : 3);
    out.ascii(`,${frame.extended ? 1 : 0},${frame.map.length},`);
    out.hexBytes(payloadAt(recording, row), ' ');
    out.ascii('\n');
  }
  return out.finish();
}
