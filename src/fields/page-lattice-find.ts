/**
 * Whether a payload, or some pages of it, is a list of cells: whether it is cheaper to write down as cells of a lattice, all by one code,
 * than as spans that are each found by themselves (minimum description length, Rissanen 1978). The code is learnt once from all cells, as their
 * values move alike; the spans each pay for where they lie and how they move.
 */
import type { Piece } from '../frames/bits.ts';
import { Company } from './company.ts';
import type { DivideOptions } from './divide.ts';
import { bitsIn, hasBit, leftBy } from './mask.ts';
import { movedPart } from './moved-part.ts';
import { slotsAreAlike } from './page-lattice-alike.ts';
import {
  cellsOf,
  firstValuesCost,
  likelyLattices,
  stillCost,
  type Cell,
  type CellPage,
  type Lattice,
} from './page-lattice.ts';
import { unevenLattices } from './page-lattice-uneven.ts';
import { firstDivisionOf, price, without, type Priced } from './page-prices.ts';
import type { PayloadRows } from './payload-rows.ts';
import { pieceOf } from './span-candidate.ts';
import { allowanceOf, spanCost, type SpanCost } from './span-cost.ts';
import type { Steps } from './steps.ts';

export interface FoundLattice {
  readonly lattice: Lattice;
  /** Pages it lies on, as numbers among those asked for. */
  readonly pages: readonly number[];
  /** Bits saved on the pages that were tried, and of how many. */
  readonly savedBits: number;
  readonly plainBits: number;
  /** Bits that what lies beside the cells takes. */
  readonly besideBits: number;
  /** Moving cells on the pages that were tried. */
  readonly cells: number;
}

/** Bits to say that there is a lattice, and which; and where each further slot lies at an uneven pitch. */
const NAMING_BITS = 16;
const UNEVEN_SLOT_BITS = 8;
const namingBits = ({ start, slots }: Lattice): number =>
  NAMING_BITS + (start === null ? UNEVEN_SLOT_BITS * (slots.length - 1) : 0);
/** Bits that it must save, and their share of what spans take. */
const SAVED_MIN = 24;
const SAVED_SHARE = 0.01;
/**
 * By this share spans that are each cut as is cheapest are cheaper than what is true: there are many to choose from, and with many rows noise
 * in the low bits of a value is as cheap by itself.
 */
const CUT_SHARE = 0.03;
/** Of what lies beside the cells, the share that must be saved for it to be none of them: a list rather fills its pages. */
const BESIDE_SHARE = 0.1;
const rankOf = ({ savedBits, besideBits }: FoundLattice): number => savedBits - BESIDE_SHARE * besideBits;

/** Pages that are tried: as many as have this many bytes together. */
const TRIED_BYTES = 64;
const TRIED_MAX = 8;
const TRIED_MIN = 2;

/** The courses of cells one after the other, as one. */
function courseOf(cells: readonly Cell[], pages: readonly CellPage[]): { word: Uint32Array; joined: Uint8Array } {
  const count = cells.reduce((sum, { page }) => sum + (pages[page] as CellPage).rows.count, 0);
  const word = new Uint32Array(count);
  const joined = new Uint8Array(count);
  let to = 0;
  for (const { page, read } of cells) {
    const { rows } = pages[page] as CellPage;
    for (let row = 0; row < rows.count; row++, to++) {
      word[to] = read(rows.data, row * rows.bytes);
      joined[to] = row === 0 ? 0 : (rows.joined[row] as number);
    }
  }
  return { word, joined };
}

/** [lowest, highest] bit that moves in any of the cells. */
function movingPart(cells: readonly Cell[], pages: readonly CellPage[]): [number, number] {
  let [low, high] = [Infinity, -1];
  for (const { page, bits } of cells)
    bits.forEach((at, place) => {
      if (!hasBit((pages[page] as CellPage).free, at)) return;
      low = Math.min(low, place);
      high = Math.max(high, place);
    });
  return [low, high];
}

/** A cell that moves so often is written down by a code of its own. */
const LIVELY_MOVES = 64;

/** Bits that cells take by one code. */
function togetherBits(cells: readonly Cell[], pages: readonly CellPage[]): number {
  if (cells.length === 0) return 0;
  const { word, joined } = courseOf(cells, pages);
  const [shift, high] = movingPart(cells, pages);
  const still: PayloadRows = { bytes: 1, count: word.length, data: new Uint8Array(word.length), joined };
  const company = new Company(still);
  const sudden = new Uint8Array(word.length);
  const cost = spanCost({ word, joined, sudden, shift, length: high - shift + 1, company, limit: 0 });
  return cost.bits + allowanceOf(cost);
}

const keyOf = ({ lsb, length, order }: Piece): string => `${lsb.byte * 8 + lsb.bit} ${length} ${order}`;

/** Bits that the cells take: those that move often each by its own code, the others by one. */
function cellBits({ pages, costs }: Trial, cells: readonly Cell[], { slots, pitch }: Lattice): number {
  const together: Cell[] = [];
  let lively = 0;
  for (const cell of cells) {
    const part = cell.moves ? movedPart(slots[cell.slot] as Piece, (pages[cell.page] as CellPage).free) : null;
    const cost = part && (costs[cell.page] as Costs).get(keyOf(part));
    if (cost && cost.moves >= LIVELY_MOVES) lively += cost.bits + allowanceOf(cost);
    else if (cell.moves) together.push(cell);
  }
  const apart = lively === 0 ? Infinity : lively + togetherBits(together, pages);
  const all = togetherBits(
    cells.filter(({ moves }) => moves),
    pages,
  );
  return firstValuesCost(cells, pitch) + Math.min(apart, all);
}

type Costs = ReadonlyMap<string, SpanCost>;

const costsOf = ({ candidates }: Priced): Costs =>
  new Map(
    candidates.map((each) => [
      keyOf({ ...pieceOf(each), order: each.first === each.last ? 'little' : each.order }),
      each.cost,
    ]),
  );

interface Trial {
  readonly pages: readonly CellPage[];
  readonly priced: readonly Priced[];
  /** [pages] what each span costs. */
  readonly costs: readonly Costs[];
  readonly options: DivideOptions;
}

/** What a lattice and the rest take on some pages, and what spans alone do. */
function weigh(trial: Trial, lattice: Lattice, plain: readonly number[]): FoundLattice {
  const { pages, priced, options } = trial;
  const cells = cellsOf(lattice, pages);
  const full = new Uint8Array(pages[0]?.rows.bytes ?? 0).fill(0xff);
  const rest = priced.map((each, page) => {
    const own = cells.filter((cell) => cell.page === page).map(({ slot }) => lattice.slots[slot] as Piece);
    return firstDivisionOf(without(each, leftBy(full, own)), options).bits;
  });
  const sum = (all: readonly number[]): number => all.reduce((a, b) => a + b, 0);
  const plainBits = (1 + CUT_SHARE) * sum(plain) + stillCost(cells, pages);
  const besideBits = sum(rest);
  const bits = namingBits(lattice) + cellBits(trial, cells, lattice) + (1 + CUT_SHARE) * besideBits;
  const moving = cells.filter(({ moves }) => moves).length;
  return { lattice, pages: [], savedBits: plainBits - bits, plainBits, besideBits, cells: moving };
}

/** With one moving cell a page there is nothing that is alike within it. */
const MOVING_A_PAGE = 2;

const leastSaved = ({ plainBits }: FoundLattice): number => Math.max(SAVED_MIN, SAVED_SHARE * plainBits);

/** Without its last slots where that saves more. */
function shortened(trial: Trial, found: FoundLattice, plain: readonly number[]): FoundLattice {
  let best = found;
  for (let less = 1; less <= SHORTER_MAX && found.lattice.slots.length - less >= 2; less++) {
    const lattice = { ...found.lattice, slots: found.lattice.slots.slice(0, -less) };
    const own = weigh(trial, lattice, plain);
    if (rankOf(own) > rankOf(best)) best = own;
  }
  return best;
}
const SHORTER_MAX = 3;

/** Pages that are tried: those on which most moves. */
function triedOf(pages: readonly CellPage[], flips: readonly number[]): number[] {
  const bytes = Math.max(1, pages[0]?.rows.bytes ?? 1);
  const most = Math.max(TRIED_MIN, Math.min(TRIED_MAX, Math.floor(TRIED_BYTES / bytes)));
  return pages
    .map((_, page) => page)
    .sort((a, b) => (flips[b] as number) - (flips[a] as number))
    .slice(0, most)
    .sort((a, b) => a - b);
}

/** On how many moving bits a page has, which is how lively it is taken to be. */
const movingBits = ({ free }: CellPage): number => bitsIn(free);

export interface LatticeSearch {
  /** Null where no lattice is cheaper than spans. */
  readonly list: FoundLattice | null;
  /** By page: spans that were priced in the search. */
  readonly priced: ReadonlyMap<number, Priced>;
}

/**
 * The lattice that is cheaper than spans. pages: those of a payload that may hold cells.
 * slotsMin: slots that a page must have to be a list.
 */
export function* findLattice(all: readonly CellPage[], slotsMin: number, options: DivideOptions): Steps<LatticeSearch> {
  const bytes = all[0]?.rows.bytes ?? 0;
  const tried = triedOf(all, all.map(movingBits));
  const pages = tried.map((page) => all[page] as CellPage);
  const likely = [...likelyLattices(pages, bytes), ...unevenLattices(all, bytes)].filter(
    ({ slots }) => slots.length >= slotsMin,
  );
  yield bytes * 1000;
  if (likely.length === 0) return { list: null, priced: new Map() };
  const priced: Priced[] = [];
  for (const { rows, free, usable } of pages) priced.push(yield* price(rows, free, usable));
  const known = new Map(tried.map((page, index) => [page, priced[index] as Priced]));
  const plain = priced.map((each) => firstDivisionOf(each, options).bits);
  const trial: Trial = { pages, priced, costs: priced.map(costsOf), options };
  let best: FoundLattice | null = null;
  for (const lattice of likely) {
    const own = weigh(trial, lattice, plain);
    if (!best || rankOf(own) > rankOf(best)) best = own;
    yield all.reduce((sum, { rows }) => sum + rows.count, 0);
  }
  const found = best && shortened(trial, best, plain);
  if (!found || found.cells < MOVING_A_PAGE * pages.length || found.savedBits < leastSaved(found))
    return { list: null, priced: known };
  if (!slotsAreAlike(found.lattice, all)) return { list: null, priced: known };
  return { list: { ...found, pages: all.map((_, page) => page) }, priced: known };
}
