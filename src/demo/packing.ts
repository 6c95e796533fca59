/**
 * Finds room for a field in a payload: the first place, in the supplier's reading direction, where all bits are free.
 * Fields come out packed without gaps, unaligned and across bytes, in both orders, as in real layouts.
 */
import { bitPositions, type ByteOrder, type Piece, type Placement } from '../frames/bits.ts';

export class Room {
  readonly taken: Uint8Array;
  constructor(
    readonly bytes: number,
    taken?: Uint8Array,
  ) {
    this.taken = taken ? taken.slice() : new Uint8Array(bytes * 8);
  }

  copy(): Room {
    return new Room(this.bytes, this.taken);
  }

  isFree(piece: Piece): boolean {
    return bitPositions(piece).every((at) => at >= 0 && at < this.bytes * 8 && this.taken[at] === 0);
  }

  take(piece: Piece): Piece {
    for (const at of bitPositions(piece)) this.taken[at] = 1;
    return piece;
  }

  /** Places a field of so many bits, or answers null where there is no room. `step` 8 starts on byte borders only. */
  place(length: number, order: ByteOrder, step: 1 | 4 | 8): Piece | null {
    for (let at = 0; at + length <= this.bytes * 8; at += step) {
      const piece = order === 'little' ? littleAt(at, length) : bigAt(at, length);
      if (this.isFree(piece)) return this.take(piece);
    }
    return null;
  }

  /** A value in two places: its low byte in one free byte, the bits above it in some gap elsewhere. */
  placeSplit(length: number): Placement | null {
    const low = this.place(8, 'little', 8);
    if (!low) return null;
    const high = this.place(length - 8, 'little', 1);
    if (high && high.lsb.bit + high.length <= 8) return { ...low, continues: [high] };
    for (const piece of high ? [low, high] : [low]) this.release(piece);
    return null;
  }

  private release(piece: Piece): void {
    for (const at of bitPositions(piece)) this.taken[at] = 0;
  }

  /** Runs of free bits, none across a byte border, as little-order pieces. */
  gaps(): Piece[] {
    const pieces: Piece[] = [];
    for (let byte = 0; byte < this.bytes; byte++) {
      for (let bit = 0; bit < 8; bit++) {
        if (this.taken[byte * 8 + bit]) continue;
        const from = bit;
        while (bit < 8 && !this.taken[byte * 8 + bit]) bit++;
        pieces.push({ lsb: { byte, bit: from }, length: bit - from, order: 'little' });
      }
    }
    return pieces;
  }
}

function littleAt(at: number, length: number): Piece {
  return { lsb: { byte: at >> 3, bit: at & 7 }, length, order: 'little' };
}

/** `at` counts from the most significant bit of byte 0; the field's most significant bit goes there. */
function bigAt(at: number, length: number): Piece {
  const last = at + length - 1;
  const lsb = { byte: last >> 3, bit: 7 - (last & 7) };
  return { lsb, length, order: length > 1 && at >> 3 !== last >> 3 ? 'big' : 'little' };
}
