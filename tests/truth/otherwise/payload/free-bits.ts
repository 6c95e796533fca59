/** Which payload bits are still free, and a place for a value: by chance, or one after the other as a supplier likes it. */
import { bitPositions, type ByteOrder, type Piece } from '../../../../src/frames/bits.ts';
import type { Random } from '../../../../src/kit/random.ts';

export type Packing = 'close' | 'bytes' | 'scattered';

export class FreeBits {
  constructor(
    readonly bytes: number,
    readonly taken: Set<number> = new Set<number>(),
  ) {}

  copy(): FreeBits {
    return new FreeBits(this.bytes, new Set(this.taken));
  }

  take(piece: Piece): Piece {
    for (const at of bitPositions(piece)) this.taken.add(at);
    return piece;
  }

  private fits(piece: Piece): boolean {
    return bitPositions(piece).every((at) => at >= 0 && at < this.bytes * 8 && !this.taken.has(at));
  }

  private all(length: number, order: ByteOrder, step: number): Piece[] {
    const pieces: Piece[] = [];
    for (let at = 0; at < this.bytes * 8; at += step) {
      const crosses = (at & 7) + length > 8;
      const piece: Piece = { lsb: { byte: at >> 3, bit: at & 7 }, length, order: crosses ? order : 'little' };
      if (this.fits(piece)) pieces.push(piece);
    }
    return pieces;
  }

  place(random: Random, length: number, order: ByteOrder, packing: Packing): Piece | null {
    const step = packing === 'bytes' && length > 4 ? 8 : packing === 'bytes' ? 2 : 1;
    const places = this.all(length, order, step);
    const chosen = packing === 'scattered' && places.length > 0 ? random.pick(places) : places[0];
    return chosen ? this.take(chosen) : null;
  }

  wholeFreeBytes(): number[] {
    const free = (byte: number): boolean => [0, 1, 2, 3, 4, 5, 6, 7].every((bit) => !this.taken.has(byte * 8 + bit));
    return Array.from({ length: this.bytes }, (_, byte) => byte).filter(free);
  }
}
