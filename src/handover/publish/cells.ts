/**
 * What never changes in the frames of a stream, all of them or those of one page: bits that always had one value. A byte that is sometimes all zeros
 * or all ones (nothing known yet) and else always the same counts as still for text, and only for text.
 */
import { lengthAt, type Stream } from '../../frames/table.ts';
import type { MaskedByte } from './types.ts';

export interface Cell {
  readonly stream: Stream;
  /** What tells the frames of this cell from others of the stream. */
  readonly page: readonly MaskedByte[];
  /** Its first frame, as a row of the stream, and how many it has. */
  readonly firstRow: number;
  readonly times: number;
  /** [bytes] bits that never moved. */
  readonly still: Uint8Array;
  /** [bytes] their values; 0 where they moved. */
  readonly value: Uint8Array;
  /** [bytes] the one value that a byte had beside all zeros and all ones; -1 where there is none or more. */
  readonly loose: Int16Array;
}

interface Gathering {
  readonly firstRow: number;
  times: number;
  readonly and: Uint8Array;
  readonly or: Uint8Array;
  readonly loose: Int16Array;
}

const MANY = -2;

function gathering(bytes: number, firstRow: number): Gathering {
  return {
    firstRow,
    times: 0,
    and: new Uint8Array(bytes).fill(255),
    or: new Uint8Array(bytes),
    loose: new Int16Array(bytes).fill(-1),
  };
}

function take(into: Gathering, { payload, stride }: Stream, row: number, length: number): void {
  const at = row * stride;
  into.times++;
  for (let byte = 0; byte < into.and.length; byte++) {
    const value = payload[at + byte] as number;
    into.and[byte]! &= value;
    into.or[byte]! |= value;
    // Bytes beyond a short frame are zeros in the table: no value of theirs.
    if (byte >= length || value === 0 || value === 255) continue;
    const before = into.loose[byte] as number;
    if (before === -1) into.loose[byte] = value;
    else if (before !== value) into.loose[byte] = MANY;
  }
}

function cellOf(stream: Stream, page: readonly MaskedByte[], { firstRow, times, and, or, loose }: Gathering): Cell {
  const still = and.map((bits, byte) => ~(bits ^ (or[byte] as number)) & 255);
  return {
    stream,
    page,
    firstRow,
    times,
    still,
    value: and.map((bits, byte) => bits & (still[byte] as number)),
    loose: loose.map((value) => (value === MANY ? -1 : value)),
  };
}

/** All frames of a stream as one cell. Linear in frames. */
export function wholeCell(stream: Stream): Cell {
  const all = gathering(stream.stride, 0);
  for (let row = 0; row < stream.count; row++) take(all, stream, row, lengthAt(stream, row));
  return cellOf(stream, [], all);
}

/** Where the number of a page may stand. */
export interface PageIndex {
  readonly byte: number;
  readonly mask: number;
}

const PAGES_MOST = 64;

/** The pages of a stream by one index, in ascending order; null where it has one page or too many. Linear in frames. */
export function pageCells(stream: Stream, { byte, mask }: PageIndex): readonly Cell[] | null {
  const pages = new Map<number, Gathering>();
  for (let row = 0; row < stream.count; row++) {
    const length = lengthAt(stream, row);
    if (length <= byte) continue;
    const value = (stream.payload[row * stream.stride + byte] as number) & mask;
    let page = pages.get(value);
    if (!page) {
      if (pages.size === PAGES_MOST) return null;
      pages.set(value, (page = gathering(stream.stride, row)));
    }
    take(page, stream, row, length);
  }
  if (pages.size < 2) return null;
  return [...pages]
    .sort(([one], [other]) => one - other)
    .map(([value, page]) => cellOf(stream, [{ byte, mask, value }], page));
}

/** One frame of a message as a cell of its own: all of it is still. key: its control byte, which tells it from others. */
export function frameCell(stream: Stream, row: number, key: readonly number[]): Cell {
  const payload = stream.payload.slice(row * stream.stride, row * stream.stride + lengthAt(stream, row));
  const page = key.map((byte) => ({ byte, mask: 255, value: payload[byte] as number }));
  return {
    stream,
    page,
    firstRow: row,
    times: 1,
    still: new Uint8Array(payload.length).fill(255),
    value: payload,
    loose: Int16Array.from(payload),
  };
}
