/**
 * A recording as log lines: `(1773043209.123456) can0 1F4#0010FF000000003A`, CAN FD as `1F4##1...`; with a direction at the
 * end of each line where the logger sent frames itself.
 */
import { busOf, frameAt, holdsOwn, isOwn, payloadAt, type Recording } from '../recording/logger.ts';
import { ByteWriter } from './byte-writer.ts';

const MICROS = 1_000_000;
/** The flags digit of a CAN FD log line: bit 0, the data phase ran at the faster rate. */
const RATE_SWITCH_DIGIT = '1';

export function writeLogLines(recording: Recording): Uint8Array<ArrayBuffer> {
  const out = new ByteWriter(recording.count * 52);
  const directed = holdsOwn(recording);
  for (let row = 0; row < recording.count; row++) {
    const frame = frameAt(recording, row);
    const timeUs = recording.timeUs[row] as number;
    const seconds = Math.floor(timeUs / MICROS);
    out.ascii('(');
    out.digits(recording.startEpochS + seconds, 1);
    out.ascii('.');
    out.digits(timeUs - seconds * MICROS, 6);
    out.ascii(`) ${busOf(recording, frame).name} `);
    out.hex(frame.id, frame.extended ? 8 : 3);
    out.ascii(frame.fd ? `##${RATE_SWITCH_DIGIT}` : '#');
    out.hexBytes(payloadAt(recording, row), '');
    if (directed) out.ascii(isOwn(frame) ? ' T' : ' R');
    out.ascii('\n');
  }
  return out.finish();
}
