/**
 * What is true of a payload, in one small shape for both simulators, and what a capture shows of it: a span is the bits from the lowest to
 * the highest that moved, in order of significance, on the frames that hold it. Truth and claims are compared by that and nothing else.
 */
import { bitPositions, rawReader, type Placement } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';

/** All conditions must hold on a frame; none: it is on each frame. */
export type Presence = readonly { readonly place: Placement; readonly values: readonly number[] }[];

export interface Known {
  readonly place: Placement;
  readonly on: Presence;
}

export type KnownCoding = 'unsigned' | 'signed' | 'sign-magnitude' | 'float' | 'bcd' | 'text';

export interface KnownField extends Known {
  readonly coding: KnownCoding;
  readonly kind: 'number' | 'states' | 'flag' | 'text';
  /** What moves it, in words: tells causes of errors apart. */
  readonly model: string;
  /** Fields of one drive with the same text show the same quantity, but for scale, offset, rounding and delay; null: nothing else shows it. */
  readonly quantity: string | null;
  /** Fields with the same text are tied so closely by what is simulated that no capture need tell them apart; they count neither way. */
  readonly kin: string | null;
  /** It has noise or a dead band of its own, beyond scale, rounding, delay and holding. */
  readonly blurred: boolean;
}

export interface KnownCounter extends Known {
  readonly step: number;
  readonly every: number;
  readonly min: number;
  readonly max: number;
}

export interface KnownChecksum extends Known {
  /** A rule of the map, a tag with a key or hidden state, or a rule outside all families. */
  readonly kind: 'rule' | 'mac' | 'unsolved';
  readonly model: string;
}

export interface KnownFrame {
  readonly fields: readonly KnownField[];
  readonly counters: readonly KnownCounter[];
  readonly checksums: readonly KnownChecksum[];
  readonly selectors: readonly Known[];
  /** Ciphertext and noise: nothing may be claimed there. */
  readonly cipher: readonly Placement[];
}

export interface KnownStream {
  readonly frame: KnownFrame;
  readonly stream: Stream;
}

export interface KnownDrive {
  readonly name: string;
  readonly streams: readonly KnownStream[];
  /** The same vehicle on another drive, the streams in the same order. */
  readonly again: () => readonly KnownStream[];
}

interface Rows {
  readonly key: string;
  readonly rows: readonly number[];
  /** [stride] bits that took both values on these rows. */
  readonly moved: Uint8Array;
}

const bitOf = (bytes: Uint8Array, at: number): number => ((bytes[at >> 3] ?? 0) >> (at & 7)) & 1;

function rowsWhere(stream: Stream, on: Presence): number[] {
  const tests = on.map(({ place, values }) => ({ read: rawReader(place), values: new Set(values) }));
  const rows: number[] = [];
  for (let row = 0; row < stream.count; row++)
    if (tests.every(({ read, values }) => values.has(read(stream.payload, row * stream.stride)))) rows.push(row);
  return rows;
}

function movedOver({ payload, stride }: Stream, rows: readonly number[]): Uint8Array {
  const moved = new Uint8Array(stride);
  const first = (rows[0] ?? 0) * stride;
  for (const row of rows)
    for (let byte = 0; byte < stride; byte++)
      moved[byte]! |= (payload[row * stride + byte] as number) ^ (payload[first + byte] as number);
  return moved;
}

/** FNV-1a over row numbers: the same frames, the same key, however the condition is written. */
function rowsKey(rows: readonly number[]): string {
  let hash = 0x811c9dc5;
  for (const row of rows) hash = Math.imul(hash ^ row, 0x01000193);
  return `${rows.length} ${hash >>> 0}`;
}

export interface Seen<T extends Known = Known> {
  readonly of: T;
  /** Equal for the same bits in the same order of significance on the same frames. */
  readonly key: string;
  /** The bits alone, and the frames alone. */
  readonly bits: readonly number[];
  readonly rowsKey: string;
  readonly rows: readonly number[];
}

/** What one stream shows; conditions are worked out once each. */
export class Sight {
  private readonly known = new Map<string, Rows>();
  constructor(readonly stream: Stream) {}

  rowsOf(on: Presence): Rows {
    const text = JSON.stringify(on);
    const before = this.known.get(text);
    if (before) return before;
    const rows = rowsWhere(this.stream, on);
    const made = { key: rowsKey(rows), rows, moved: movedOver(this.stream, rows) };
    this.known.set(text, made);
    return made;
  }

  /** null where none of its bits moved on its frames. */
  see<T extends Known>(of: T): Seen<T> | null {
    const { key, rows, moved } = this.rowsOf(of.on);
    const positions = bitPositions(of.place);
    const low = positions.findIndex((at) => bitOf(moved, at) === 1);
    if (low < 0) return null;
    const high = positions.findLastIndex((at) => bitOf(moved, at) === 1);
    const bits = positions.slice(low, high + 1);
    return { of, key: `${bits.join(',')}@${key}`, bits, rowsKey: key, rows };
  }

  seeAll<T extends Known>(all: readonly T[]): Seen<T>[] {
    return all.flatMap((each) => this.see(each) ?? []);
  }

  /** How often any of its bits changed from one of its frames to the next. */
  movesOf({ bits, rows }: Seen): number {
    const { payload, stride } = this.stream;
    const differs = (from: number, to: number): boolean =>
      bits.some(
        (at) => (((payload[from * stride + (at >> 3)]! ^ payload[to * stride + (at >> 3)]!) >> (at & 7)) & 1) === 1,
      );
    return rows.reduce((moves, row, index) => moves + (index > 0 && differs(rows[index - 1]!, row) ? 1 : 0), 0);
  }

  /** Unsigned raw values on its frames; of at most 53 bits. */
  valuesOf({ of, rows }: Seen): number[] {
    const read = rawReader(of.place);
    return rows.map((row) => read(this.stream.payload, row * this.stream.stride));
  }
}

export const crossesByte = ({ bits }: Seen): boolean => new Set(bits.map((at) => at >> 3)).size > 1;

/** Order of the value's bytes where it crosses one. */
export const orderOf = ({ bits }: Seen): 'little' | 'big' =>
  (bits.at(-1) as number) >> 3 >= (bits[0] as number) >> 3 ? 'little' : 'big';
