/** Which bits of a frame are taken, and where the next value fits. */
import type { ByteOrder, Placement } from '../../../src/frames/bits.ts';
import { bitPositions } from '../../../src/frames/bits.ts';
import type { House } from './house.ts';

/**
 * Bits counted as they are drawn on paper for an order: "little" from bit 0 of byte 0 upwards, "big" from bit 7 of byte 0 downwards. A value
 * takes so many in a row; its least significant one comes first or last.
 */
const bitAt = (drawn: number, order: ByteOrder): number =>
  order === 'little' ? drawn : (drawn & ~7) + (7 - (drawn & 7));

export function placeAt(drawn: number, bits: number, order: ByteOrder): Placement {
  const lowest = bitAt(order === 'little' ? drawn : drawn + bits - 1, order);
  const crosses = drawn >> 3 !== (drawn + bits - 1) >> 3;
  return { lsb: { byte: lowest >> 3, bit: lowest & 7 }, length: bits, order: crosses ? order : 'little' };
}

/** So many bits of one byte. */
export const inByte = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});

/** Whole bytes, the most significant first or last. */
export const wholeBytes = (first: number, count: number, bigFirst: boolean): Placement => ({
  lsb: { byte: bigFirst && count > 1 ? first + count - 1 : first, bit: 0 },
  length: 8 * count,
  order: bigFirst && count > 1 ? 'big' : 'little',
});

export class Board {
  private constructor(private readonly taken: Uint8Array) {}
  static of(bytes: number): Board {
    return new Board(new Uint8Array(bytes * 8));
  }

  get bytes(): number {
    return this.taken.length / 8;
  }

  copy(): Board {
    return new Board(this.taken.slice());
  }

  take(place: Placement): void {
    for (const at of bitPositions(place)) this.taken[at] = 1;
  }

  isFree(place: Placement): boolean {
    return bitPositions(place).every((at) => this.taken[at] === 0);
  }

  /** First whole bytes in a row that are free. */
  freeByte(from = 0): number {
    for (let byte = from; byte < this.bytes; byte++) if (this.isFree(inByte(byte, 0, 8))) return byte;
    return -1;
  }

  /** The first place at or behind `from`, in drawn bits, and before `to`; null where there is none. Takes it. */
  fit(
    bits: number,
    order: ByteOrder,
    layout: House['layout'],
    from: number,
    to: number,
  ): { place: Placement; end: number } | null {
    for (let drawn = from; drawn + bits <= to; drawn++) {
      if (!isLiked(drawn, bits, order, layout)) continue;
      const place = placeAt(drawn, bits, order);
      if (!this.isFree(place)) continue;
      this.take(place);
      return { place, end: drawn + bits };
    }
    return null;
  }
}

function isLiked(drawn: number, bits: number, order: ByteOrder, layout: House['layout']): boolean {
  const crosses = drawn >> 3 !== (drawn + bits - 1) >> 3;
  if (bits < 5 && crosses) return false;
  switch (layout) {
    case 'tight':
      return true;
    case 'nibbles':
      return bits < 4 ? true : drawn % 4 === 0 || (drawn + bits) % 4 === 0;
    case 'bytes':
      if (bits < 8) return !crosses;
      return (order === 'little' ? drawn : drawn + bits) % 8 === 0;
  }
}

/** Writes an unsigned value below 2 ^ 53 into bytes that hold zeros there. */
export function writerOf(place: Placement): (bytes: Uint8Array, raw: number) => void {
  const positions = bitPositions(place);
  return (bytes, raw) => {
    let rest = raw;
    for (let i = 0; rest > 0 && i < positions.length; i++) {
      const at = positions[i]!;
      const byte = at >> 3;
      if (rest % 2 === 1) bytes[byte] = bytes[byte]! | (1 << (at & 7));
      else bytes[byte] = bytes[byte]! & ~(1 << (at & 7));
      rest = Math.floor(rest / 2);
    }
  };
}
