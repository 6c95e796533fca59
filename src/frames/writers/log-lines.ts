/**
 * Frames as log lines: `(1773043209.123456) can0 1F4#0010FF000000003A`, CAN FD as `1F4##1...` with a digit of flags; with a direction at the
 * end of each line where the logger sent frames itself. Stamps below a microsecond get nine decimals.
 */
import type { ByteWriter } from './byte-writer.ts';
import { stampOf, writtenFlags, type CaptureWriter, type WriterOptions } from './frame.ts';

/** A bus is one word on a line. */
const wordOf = (bus: string): string => bus.replace(/[^\x21-\x7e]+/g, '_') || 'can0';

function writeStamp(out: ByteWriter, { seconds, ns }: { readonly seconds: number; readonly ns: number }): void {
  out.ascii('(');
  out.digits(seconds, 1);
  out.ascii('.');
  if (ns % 1000 === 0) out.digits(ns / 1000, 6);
  else out.digits(ns, 9);
  out.ascii(') ');
}

export function logLinesWriter({ buses, start, directed }: WriterOptions): CaptureWriter {
  const words = buses.map(wordOf);
  return {
    ending: 'log',
    head: () => undefined,
    frame(out, timeUs, { bus, id, extended, fdFlags, direction, payload }) {
      writeStamp(out, stampOf(start, timeUs));
      out.ascii(`${words[bus] ?? 'can0'} `);
      out.hex(id, extended ? 8 : 3);
      out.ascii(fdFlags ? `##${writtenFlags(fdFlags)}` : '#');
      out.hexBytes(payload, '');
      if (directed) out.ascii(direction === 'sent' ? ' T' : ' R');
      out.ascii('\n');
    },
  };
}
