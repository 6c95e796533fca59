/**
 * Whether the slots of a lattice hold cells of one kind. Which slot of its page a cell of a pack lies in says nothing about it: its
 * slots differ from each other no more than the cells of one slot do from page to page. Different fields that a lattice happens to run
 * through differ slot by slot, the same on each page, and so do cells at an uneven pitch: in how far up they move, or from where.
 */
import { createRandom } from '../kit/random.ts';
import { mean } from '../kit/statistics/order.ts';
import { hasBit } from './mask.ts';
import { cellsOf, type CellPage, type Lattice } from './page-lattice.ts';

/** Cells that move without which nothing is told. */
const CELLS_MIN = 8;
/** Of the cells' differences in where they move, the share that lies between slots where these are not of one kind. */
const BETWEEN_SHARE = 0.5;
/** Shuffles of cells over slots; none of which may part the slots as well (permutation test, Fisher 1935). */
const SHUFFLES = 400;

/** Sum over slots of squared means, times their cells. */
function betweenSlots(places: readonly number[], slots: readonly number[], count: number): number {
  const sums = new Float64Array(count);
  const cells = new Float64Array(count);
  places.forEach((place, index) => {
    const slot = slots[index] as number;
    sums[slot]! += place;
    cells[slot]!++;
  });
  return sums.reduce((sum, own, slot) => sum + (cells[slot] === 0 ? 0 : own ** 2 / (cells[slot] as number)), 0);
}

/** Whether a place in the cells, of each cell its own, goes by which of `count` slots it lies in, more than chance deals it. */
function goesBySlot(places: number[], slots: readonly number[], count: number): boolean {
  const between = betweenSlots(places, slots, count);
  const all = places.reduce((sum, place) => sum + place ** 2, 0);
  const common = places.length * mean(places) ** 2;
  if (between - common <= BETWEEN_SHARE * (all - common)) return false;
  const random = createRandom('slots of a lattice');
  for (let shuffle = 0; shuffle < SHUFFLES; shuffle++)
    if (betweenSlots(random.shuffle(places), slots, count) >= between) return false;
  return true;
}

/** pages: those that hold the lattice. True also where too few cells move to tell. */
export function slotsAreAlike(lattice: Lattice, pages: readonly CellPage[]): boolean {
  const moving = cellsOf(lattice, pages).filter(({ moves }) => moves);
  const slots = moving.map(({ slot }) => slot);
  if (moving.length < CELLS_MIN || new Set(slots).size < 2) return true;
  const moved = moving.map(({ bits, page }) => bits.map((at) => hasBit((pages[page] as CellPage).free, at)));
  const tops = moved.map((own) => own.lastIndexOf(true) + 1);
  const bottoms = moved.map((own) => own.indexOf(true));
  const count = lattice.slots.length;
  return !goesBySlot(tops, slots, count) && !goesBySlot(bottoms, slots, count);
}
