/** Fills a frame, or a page of one, with values in the house's manner. */
import type { ByteOrder } from '../../../src/frames/bits.ts';
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import type { Random } from '../../../src/kit/random.ts';
import { writerOf, type Board } from './board.ts';
import { chance } from './draw.ts';
import type { House } from './house.ts';
import { slotAt, type CheckSlot, type Page, type Slot } from './layout.ts';
import type { Recipe } from './recipe.ts';

interface Region {
  readonly order: ByteOrder;
  /** Drawn bits. */
  readonly from: number;
  readonly to: number;
}

/** Of bytes from..to - 1: one order, or one in front and the other behind. */
function regionsOf({ order, mixed }: House, from: number, to: number, random: Random): readonly Region[] {
  const other: ByteOrder = order === 'little' ? 'big' : 'little';
  if (to - from < 5 || !chance(random, mixed)) return [{ order, from: from * 8, to: to * 8 }];
  const border = 8 * (from + 2 + random.below(to - from - 3));
  const orders = chance(random, 0.5) ? [order, other] : [other, order];
  return [
    { order: orders[0]!, from: from * 8, to: border },
    { order: orders[1]!, from: border, to: to * 8 },
  ];
}

const TRIES = 12;

export interface Filling {
  readonly house: House;
  readonly page: Page | null;
  /** Stops at so many values. */
  readonly most: number;
  /** Of these bytes, the last left out; without it, of all. */
  readonly within?: readonly [from: number, to: number];
}

/** Draws recipes until the board is full or there are enough. */
export function fill(
  board: Board,
  draw: () => Recipe,
  { house, page, most, within = [0, board.bytes] }: Filling,
  random: Random,
): Slot[] {
  const slots: Slot[] = [];
  const models = new Set<string>();
  for (const { order, from, to } of regionsOf(house, ...within, random)) {
    let cursor = from;
    for (let tries = 0; tries < TRIES && slots.length < most;) {
      const recipe = draw();
      const again = models.has(recipe.model) && recipe.model !== 'constant';
      const spot = again ? null : board.fit(recipe.bits, order, house.layout, cursor, to);
      if (!spot) {
        tries++;
        continue;
      }
      models.add(recipe.model);
      slots.push(slotAt(spot.place, recipe, page));
      cursor = spot.end + (chance(random, house.gaps) ? 1 + random.below(8) : 0);
    }
  }
  return slots;
}

/** Places these one after another, as far as there is room. */
export function fillWith(board: Board, recipes: readonly Recipe[], { house, page }: Filling): Slot[] {
  const slots: Slot[] = [];
  let cursor = 0;
  for (const recipe of recipes) {
    const spot = board.fit(recipe.bits, house.order, house.layout, cursor, board.bytes * 8);
    if (!spot) continue;
    slots.push(slotAt(spot.place, recipe, page));
    cursor = spot.end;
  }
  return slots;
}

const COPY_BITS_LEAST = 6;

/** A later place shows the bits of an earlier value turned over; null where none fits. */
export function complementCopy(board: Board, slots: readonly Slot[], house: House, random: Random): CheckSlot | null {
  const wide = slots.filter(({ place }) => place.length >= COPY_BITS_LEAST && place.length <= 16);
  if (wide.length === 0) return null;
  const { place: from } = random.pick(wide);
  // Which of two that show each other is the copy, nobody can tell: here it is always the one behind.
  const behind = 8 * (1 + Math.max(...bitPositions(from).map((at) => at >> 3)));
  const spot = board.fit(from.length, house.order, house.layout, behind, board.bytes * 8);
  if (!spot) return null;
  const read = bitPositions(from);
  const write = writerOf(spot.place);
  return {
    known: { place: spot.place, on: [], kind: 'rule', model: 'complement copy' },
    rule: null,
    part: { id: 0, from: 0, to: board.bytes },
    secret: () => [],
    counter: -1,
    apply: (bytes) =>
      write(
        bytes,
        read.reduce((raw, at, weight) => raw + (((bytes[at >> 3]! >> (at & 7)) & 1) ^ 1) * 2 ** weight, 0),
      ),
  };
}

/** Bits that nothing takes show the house's filler. */
export function fillerBytes(length: number, filler: 0 | 1, taken: readonly Placement[]): Uint8Array {
  const bytes = new Uint8Array(length).fill(filler ? 0xff : 0);
  for (const at of taken.flatMap(bitPositions)) bytes[at >> 3] = bytes[at >> 3]! & ~(1 << (at & 7));
  return bytes;
}
