/** Files that a logger is still writing: read as far as whole lines go, so that the row under way is not taken for a broken one. */
import { isGzip } from '../frames/reading/bytes.ts';
import type { ByteSource } from '../frames/source.ts';
import { CannotDo } from './arguments.ts';

/** A line of a log is far shorter. */
const TAIL_BYTES = 1 << 16;
const LINE_FEED = 10;

export interface WholeLines {
  readonly source: ByteSource;
  /** Bytes behind the last whole line. */
  readonly leftOut: number;
}

/**
 * The source up to its last line feed; a file of records, which has none to go by, as it is: its readers take whole records.
 * @throws CannotDo where it is compressed: what is written of it so far cannot be unpacked.
 */
export async function wholeLines(source: ByteSource): Promise<WholeLines> {
  if (isGzip(await source.slice(0, 3)))
    throw new CannotDo(`${source.name} is compressed: it can be read only once it is whole.`);
  const tail = await source.slice(Math.max(0, source.size - TAIL_BYTES), source.size);
  const last = tail.lastIndexOf(LINE_FEED);
  if (last < 0 || tail.includes(0)) return { source, leftOut: 0 };
  const leftOut = tail.length - 1 - last;
  const size = source.size - leftOut;
  return {
    source: { ...source, size, slice: (start, end) => source.slice(start, Math.min(end, size)) },
    leftOut,
  };
}
