/**
 * Still bits laid one behind the other as they may be read: bytes onward or backward, from the most or from the least significant bit, frame
 * by frame, page by page, identifier by identifier. Each bit knows where it stands.
 */
import { BITS_SET } from '../../fields/bits-set.ts';
import type { Cell } from './cells.ts';
import type { Reach } from './types.ts';

export interface ByteRef {
  readonly cell: Cell;
  readonly byte: number;
  /** Bits that are read; the others are passed over. */
  readonly mask: number;
  /** An earlier page holds the same there, or the one before nearly the same: it tells nothing new. */
  readonly repeats?: boolean;
}

export interface Tape {
  readonly reach: Reach;
  readonly cells: readonly Cell[];
  readonly lsbFirst: boolean;
  /** Whether each entry is a whole byte of its own: then characters begin with bytes. */
  readonly inBytes: boolean;
  /** [bits] 0 or 1, -1 where the bit moves or something else holds it. */
  readonly bits: Int8Array;
  /** [bits] the same, with bytes that are sometimes empty taken for still: for text alone. */
  readonly loose: Int8Array;
  /** [bits] place in `cells` times 512 plus byte times 8 plus bit. */
  readonly at: Int32Array;
  /** [bits] 1 where the bit stands in a byte that says nothing new: it is as on a page before, or as just before in the frame. */
  readonly repeats: Uint8Array;
}

const PLACES = 512;
/** [256] bits set in a byte. */
const ALIKE_BYTES = 2;

/** Whether the frame holds the same byte one or two places before: a row of one value is filled from end to end, and no text. */
function isAsBefore(refs: readonly ByteRef[], index: number): boolean {
  const { cell, byte } = refs[index] as ByteRef;
  for (let back = 1; back <= ALIKE_BYTES; back++) {
    const before = refs[index - back];
    if (before?.cell !== cell) return false;
    const bits = (cell.still[byte] as number) & (cell.still[before.byte] as number);
    if (bits === 255 && cell.value[byte] === cell.value[before.byte]) return true;
  }
  return false;
}

/** More than so many bytes of a frame are as one just before: of digits alone one in five is by chance. */
const ROW_SHARE = 0.5;

/** Empty bytes are no row: what stands before them is none the less a text. */
const isEmpty = ({ cell, byte }: ByteRef): boolean =>
  cell.still[byte] === 255 && (cell.value[byte] === 0 || cell.value[byte] === 255);

/** Cells that are filled with one value or two in turn. */
function rowsOfOneValue(refs: readonly ByteRef[]): ReadonlySet<Cell> {
  const counts = new Map<Cell, { bytes: number; alike: number }>();
  refs.forEach((ref, index) => {
    if (isEmpty(ref)) return;
    const { cell } = ref;
    const count = counts.get(cell) ?? { bytes: 0, alike: 0 };
    counts.set(cell, { bytes: count.bytes + 1, alike: count.alike + (isAsBefore(refs, index) ? 1 : 0) });
  });
  return new Set([...counts].filter(([, { bytes, alike }]) => alike > ROW_SHARE * bytes).map(([cell]) => cell));
}

export function tapeOf(reach: Reach, refs: readonly ByteRef[], lsbFirst: boolean): Tape {
  const cells = [...new Set(refs.map(({ cell }) => cell))];
  const numbers = new Map(cells.map((cell, index) => [cell, index]));
  const rows = rowsOfOneValue(refs);
  const length = refs.reduce((all, { mask }) => all + (BITS_SET[mask] as number), 0);
  const bits = new Int8Array(length);
  const loose = new Int8Array(length);
  const at = new Int32Array(length);
  const again = new Uint8Array(length);
  let end = 0;
  for (const [index, { cell, byte, mask, repeats = false }] of refs.entries()) {
    const isAgain = repeats || (rows.has(cell) && isAsBefore(refs, index));
    const value = cell.value[byte] as number;
    const other = cell.loose[byte] as number;
    const place = (numbers.get(cell) as number) * PLACES + byte * 8;
    for (let step = 0; step < 8; step++) {
      const bit = lsbFirst ? step : 7 - step;
      if (!((mask >> bit) & 1)) continue;
      const isStill = ((cell.still[byte] as number) >> bit) & 1;
      const sure = isStill ? (value >> bit) & 1 : -1;
      bits[end] = sure;
      loose[end] = sure >= 0 ? sure : other >= 0 ? (other >> bit) & 1 : -1;
      again[end] = isAgain ? 1 : 0;
      at[end] = place + bit;
      end++;
    }
  }
  const inBytes = refs.every(({ mask }) => mask === 255);
  return {
    reach,
    cells,
    lsbFirst,
    inBytes,
    bits,
    loose,
    at,
    repeats: again,
  };
}

export const cellAt = ({ cells, at }: Tape, bit: number): Cell =>
  cells[Math.floor((at[bit] as number) / PLACES)] as Cell;
/** Byte times 8 plus bit. */
export const placeAt = ({ at }: Tape, bit: number): number => (at[bit] as number) % PLACES;

/** Both orders of bits. */
export const bothOrders = (reach: Reach, refs: readonly ByteRef[]): readonly Tape[] => [
  tapeOf(reach, refs, false),
  tapeOf(reach, refs, true),
];

/** Onward and backward, in both orders of bits. */
export const allOrders = (reach: Reach, refs: readonly ByteRef[]): readonly Tape[] => [
  ...bothOrders(reach, refs),
  ...bothOrders(reach, refs.toReversed()),
];

/** Which codes of so many bits say something new: those with a bit set, of a byte that says something new. */
export function toldOn({ repeats }: Tape, codes: readonly number[], from: number, width: number): readonly boolean[] {
  return codes.map((code, index) => {
    const at = from + index * width;
    return code > 0 && repeats.subarray(at, at + width).includes(0);
  });
}

/** Codes of so many bits from an offset on; -1 where a bit of one is not known. */
export function codesOn(tape: Tape, width: number, offset: number): Int16Array {
  const bits = width === 8 ? tape.loose : tape.bits;
  const codes = new Int16Array(Math.max(0, Math.floor((bits.length - offset) / width)));
  for (let index = 0; index < codes.length; index++) {
    let code = 0;
    for (let step = 0; step < width && code >= 0; step++) {
      const bit = bits[offset + index * width + step] as number;
      if (bit < 0) code = -1;
      else code = tape.lsbFirst ? code | (bit << step) : (code << 1) | bit;
    }
    codes[index] = code;
  }
  return codes;
}

export interface Reading {
  readonly tape: Tape;
  /** Characters may begin at any bit, and have six or seven. */
  readonly anywhere: boolean;
  /** Bytes onward, pages in their order, as most write numbers. */
  readonly isUsual: boolean;
  /** Whether it is looked through for packed decimals: of a range of columns only the widest are. */
  readonly holdsDigits: boolean;
}

/** The first two tapes are read in the usual order. */
export const readBy = (tapes: readonly Tape[], anywhere: boolean, holdsDigits = true): Reading[] =>
  tapes.map((tape, index) => ({ tape, anywhere, isUsual: index < 2, holdsDigits }));

/** The bytes from..to of a cell, but for those that something else holds. */
export const refsOf = (cell: Cell, free: Uint8Array, from: number, to: number): ByteRef[] =>
  Array.from({ length: to - from }, (_, at) => ({ cell, byte: from + at, mask: free[from + at] as number })).filter(
    ({ mask }) => mask > 0,
  );
