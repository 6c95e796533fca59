/** Places values in a frame as a stranger's house does: one after the other in its bit order, aligned, with a hole here and there. */
import { bitPositions, fitsIn, type ByteOrder, type Placement } from '../../../src/frames/bits.ts';
import type { Random } from '../../../src/kit/random.ts';
import { chance } from './draw.ts';
import type { Item } from './layout.ts';
import type { QuantityName } from './quantities.ts';
import { drawSource } from './sources.ts';
import type { Style } from './styles.ts';

export class Packer {
  used: Uint8Array;
  /** How far the frame is filled, in bits of its own order. */
  cursor = 0;

  constructor(
    readonly order: ByteOrder,
    readonly length: number,
  ) {
    this.used = new Uint8Array(length * 8);
  }

  /** at: in big order counted from the top bit of byte 0. */
  private placeAt(at: number, length: number): Placement {
    if (this.order === 'little') return placed(at >> 3, at & 7, length, 'little');
    const last = at + length - 1;
    return placed(last >> 3, 7 - (last & 7), length, 'big');
  }

  take(place: Placement): Placement {
    for (const bit of bitPositions(place)) this.used[bit] = 1;
    return place;
  }

  isFree(place: Placement): boolean {
    return fitsIn(place, this.length) && bitPositions(place).every((bit) => this.used[bit] === 0);
  }

  /** The next free place; null where none is left. Two bits and less need no alignment. */
  add(length: number, align: number): Placement | null {
    for (let at = this.cursor; at + length <= this.length * 8; at++) {
      if (at % align !== 0 && length > 2) continue;
      const place = this.placeAt(at, length);
      if (!this.isFree(place)) continue;
      this.cursor = at + length;
      return this.take(place);
    }
    return null;
  }

  /** A value in the other order, on whole bytes behind the cursor. */
  addOtherwise(length: number): Placement | null {
    const bytes = Math.ceil(length / 8);
    const first = Math.ceil(this.cursor / 8);
    const place =
      this.order === 'little' ? placed(first + bytes - 1, 0, length, 'big') : placed(first, 0, length, 'little');
    if (!this.isFree(place)) return null;
    this.cursor = (first + bytes) * 8;
    return this.take(place);
  }
}

/** Within one byte both orders are the same and called little. */
export const placed = (byte: number, bit: number, length: number, order: ByteOrder): Placement => ({
  lsb: { byte, bit },
  length,
  order: bit + length <= 8 ? 'little' : order,
});

const alignOf = (width: number, align: number): number => (width > 4 ? align : Math.min(align, align === 8 ? 2 : 1));

export function fillItems(
  random: Random,
  style: Style,
  packer: Packer,
  names: readonly QuantityName[],
  on: Pick<Item, 'pages' | 'inner'>,
  items: Item[],
): void {
  for (const name of names) {
    const source = drawSource(random, name, style);
    if (chance(random, 0.15)) packer.cursor += random.pick([1, 2, 4, 8]);
    const place = chance(random, style.mixed)
      ? packer.addOtherwise(source.width)
      : packer.add(source.width, alignOf(source.width, style.align));
    if (place) items.push({ place, content: { from: 'world', source, cell: false }, ...on });
  }
}
