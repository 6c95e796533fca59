/** The frames of a blanked capture as a file again, in order of time, piece by piece into a sink. */
import type { FrameTable } from '../../frames/table.ts';
import { ByteWriter } from '../../frames/writers/byte-writer.ts';
import { logLinesWriter } from '../../frames/writers/log-lines.ts';
import { pcapngWriter } from '../../frames/writers/pcapng.ts';
import { frameOf, optionsOf } from '../../frames/writers/table.ts';
import { checkpoint, type Control } from '../../kit/control.ts';
import type { ByteSink } from '../decode-capture.ts';
import { MergedFrames } from '../merged-frames.ts';

export type LogFormat = 'log' | 'pcapng';
const WRITERS = { log: logLinesWriter, pcapng: pcapngWriter };
const AT_ONCE = 4096;
const BYTES_A_FRAME = 64;

export interface LogOptions {
  readonly format: LogFormat;
  /** Times count from zero instead of from when it was recorded. */
  readonly hidesTimes: boolean;
}

/** Writes all data frames. @returns how many. Linear in frames; holds AT_ONCE of them as bytes. */
export async function writeLog(
  table: FrameTable,
  { format, hidesTimes }: LogOptions,
  sink: ByteSink,
  control: Control = {},
): Promise<number> {
  const options = optionsOf(table);
  const writer = WRITERS[format]({ ...options, ...(hidesTimes ? { start: { seconds: 0, us: 0 } } : {}) });
  const merged = new MergedFrames(table.streams);
  let out = new ByteWriter(1024);
  writer.head(out);
  for (let written = 0; ;) {
    const taken = merged.take(AT_ONCE, (index, row) => {
      const stream = table.streams[index];
      if (stream) writer.frame(out, stream.timeUs[row] as number, frameOf(table.buses, stream, row));
    });
    if (out.length > 0) await sink.write(out.finish());
    if (taken === 0) return written;
    written += taken;
    out = new ByteWriter(AT_ONCE * BYTES_A_FRAME);
    await checkpoint(control, written / table.frameCount, 'writing the log');
  }
}
