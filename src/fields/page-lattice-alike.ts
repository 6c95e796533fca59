/**
 * Whether the slots of a lattice hold cells of one kind. Which slot of its page a cell of a pack lies in says nothing about it: its
 * slots differ from each other no more than the cells of one slot do from page to page. Different fields that a lattice happens to run
 * through differ slot by slot, the same on each page.
 */
import { createRandom } from '../kit/random.ts';
import { mean } from '../kit/statistics/order.ts';
import { hasBit } from './mask.ts';
import { cellsOf, type CellPage, type Lattice } from './page-lattice.ts';

/** Cells that move without which nothing is told. */
const CELLS_MIN = 8;
/** Of the cells' differences in how far up they move, the share that lies between slots where these are not of one kind. */
const BETWEEN_SHARE = 0.5;
/** Shuffles of cells over slots; none of which may part the slots as well (permutation test, Fisher 1935). */
const SHUFFLES = 400;

/** Sum over slots of squared means, times their cells. */
function betweenSlots(tops: readonly number[], slots: readonly number[], count: number): number {
  const sums = new Float64Array(count);
  const cells = new Float64Array(count);
  tops.forEach((top, index) => {
    const slot = slots[index] as number;
    sums[slot]! += top;
    cells[slot]!++;
  });
  return sums.reduce((sum, own, slot) => sum + (cells[slot] === 0 ? 0 : own ** 2 / (cells[slot] as number)), 0);
}

/** pages: those that hold the lattice. True also where too few cells move to tell. */
export function slotsAreAlike(lattice: Lattice, pages: readonly CellPage[]): boolean {
  const moving = cellsOf(lattice, pages).filter(({ moves }) => moves);
  const slots = moving.map(({ slot }) => slot);
  if (moving.length < CELLS_MIN || new Set(slots).size < 2) return true;
  const tops = moving.map(
    ({ bits, page }) => bits.findLastIndex((at) => hasBit((pages[page] as CellPage).free, at)) + 1,
  );
  const between = betweenSlots(tops, slots, lattice.slots.length);
  const all = tops.reduce((sum, top) => sum + top ** 2, 0);
  const common = tops.length * mean(tops) ** 2;
  if (between - common <= BETWEEN_SHARE * (all - common)) return true;
  const random = createRandom('slots of a lattice');
  for (let shuffle = 0; shuffle < SHUFFLES; shuffle++) {
    if (betweenSlots(random.shuffle(tops), slots, lattice.slots.length) >= between) return true;
  }
  return false;
}
