/**
 * Where the cells of a pack may lie: values of one width and one order, one behind the other at an even pitch over all pages. A first look
 * at each such lattice by which of its bits turn: the low ones of each cell more often than the high ones, in all cells alike, so that one
 * code for all of them is cheap (minimum description length, Rissanen 1978). And cells of one pack show about the same value.
 */
import { bitPositions, rawReader, type ByteOrder, type Piece } from '../frames/bits.ts';
import { hasBit, holds } from './mask.ts';
import { countFlips, type PayloadRows } from './payload-rows.ts';

export interface Lattice {
  readonly order: ByteOrder;
  /** Bits of each cell; at an even pitch from one to the next as well. */
  readonly pitch: number;
  /** Bits in front of the first cell: counted from the lowest bit of byte 0 (little) or from its highest (big). Null at an uneven pitch. */
  readonly start: number | null;
  /** The slots it has in a payload. */
  readonly slots: readonly Piece[];
}

/** What is read as cells: the rows of one page, or of a payload without pages. */
export interface CellPage {
  readonly rows: PayloadRows;
  /** [bytes] bits that nothing else holds, and those of them that moved. */
  readonly usable: Uint8Array;
  readonly free: Uint8Array;
}

const PITCH_MIN = 8;
export const PITCH_MAX = 16;
/** Bits in front of the first cell at most. */
const HEADER_MAX = 63;
const SLOTS_MIN = 2;

function slotAt(order: ByteOrder, from: number, pitch: number): Piece {
  const last = from + pitch - 1;
  const lsb = order === 'little' ? { byte: from >> 3, bit: from & 7 } : { byte: last >> 3, bit: 7 - (last & 7) };
  return { lsb, length: pitch, order };
}

const latticeOf = (order: ByteOrder, pitch: number, start: number, bytes: number): Lattice => ({
  order,
  pitch,
  start,
  slots: Array.from({ length: Math.floor((8 * bytes - start) / pitch) }, (_, cell) =>
    slotAt(order, start + cell * pitch, pitch),
  ),
});

function* allLattices(bytes: number): Generator<Lattice> {
  for (const order of ['little', 'big'] as const)
    for (let pitch = PITCH_MIN; pitch <= PITCH_MAX; pitch++)
      for (let start = 0; start <= Math.min(HEADER_MAX, 8 * bytes - SLOTS_MIN * pitch); start++)
        if (order === 'little' || pitch > 8 || start % 8 !== 0) yield latticeOf(order, pitch, start, bytes);
}

/** A cell on a page: its slot, whether it ever moves, its first value that is neither zero nor all ones where there is one. */
export interface Cell {
  readonly page: number;
  readonly slot: number;
  readonly bits: readonly number[];
  readonly read: RawReader;
  readonly moves: boolean;
  readonly value: number;
}

type RawReader = ReturnType<typeof rawReader>;

/** Rows in which a first value is looked for. */
const FIRST_ROWS = 64;

function firstValue({ bytes, data, count }: PayloadRows, read: RawReader, pitch: number): number {
  const ones = 2 ** pitch - 1;
  for (let row = 0; row < Math.min(FIRST_ROWS, count); row++) {
    const value = read(data, row * bytes);
    if (value !== ones && value !== 0) return value;
  }
  return count === 0 ? 0 : read(data, 0);
}

/** The cells of a lattice on each page, page by page. */
export function cellsOf({ slots }: Pick<Lattice, 'slots'>, pages: readonly CellPage[]): Cell[] {
  const places = slots.map((slot) => ({ bits: bitPositions(slot), read: rawReader(slot) }));
  return pages.flatMap(({ rows, usable, free }, page) =>
    slots.flatMap((slot, index): Cell[] => {
      if (!holds(usable, slot)) return [];
      const { bits, read } = places[index] as (typeof places)[number];
      const moves = bits.some((at) => hasBit(free, at));
      return [{ page, slot: index, bits, read, moves, value: firstValue(rows, read, bits.length) }];
    }),
  );
}

/** Bits of a cell that shows zero or all ones: empty, or no data. */
const EMPTY_BITS = 2;

/** Bits to say what the cells show at first, each by how far it is from the one before; the scale of that is chosen once. */
export function firstValuesCost(cells: readonly Cell[], pitch: number): number {
  const ones = 2 ** pitch - 1;
  let empty = 0;
  let before = Number.NaN;
  const apart: number[] = [];
  for (const { value } of cells) {
    if (value === 0 || value === ones) empty++;
    else {
      if (!Number.isNaN(before)) apart.push(Math.abs(value - before));
      before = value;
    }
  }
  let least = Infinity;
  for (let scale = 0; scale < pitch; scale++) {
    const bits = apart.reduce((sum, far) => sum + Math.min(pitch + 2, 3 + scale + Math.floor(far / 2 ** scale)), 0);
    least = Math.min(least, bits);
  }
  return pitch + 4 + least + EMPTY_BITS * empty;
}

const STILL_EMPTY_BITS = 0.25;

/** Bits to say what still bits show, by themselves: little for those of empty bytes. */
export function stillCost(cells: readonly Cell[], pages: readonly CellPage[]): number {
  return cells.reduce((sum, { page, bits }) => {
    const { rows, free } = pages[page] as CellPage;
    const still = bits.filter((at) => !hasBit(free, at));
    const byteOf = (at: number): number => rows.data[at >> 3] as number;
    return sum + still.reduce((own, at) => own + (byteOf(at) === 0 || byteOf(at) === 0xff ? STILL_EMPTY_BITS : 1), 0);
  }, 0);
}

/** A cell weighs as much as so many turns of its bits at most: cells of one pack turn more or less often, by how near to a border they are. */
const TURNS_MOST = 24;
/** Moving cells, over all pages, without which there is nothing to compare. */
const CELLS_MIN = 3;

/** [places] how often the bits of a cell turn, as so many turns at most. */
function turnsOf(bits: readonly number[], flips: Float64Array): number[] {
  const all = bits.reduce((sum, at) => sum + (flips[at] as number), 0);
  const scale = Math.min(1, TURNS_MOST / Math.max(1, all));
  return bits.map((at) => (flips[at] as number) * scale);
}

/** Two slots at least show this share of the bits that the widest one shows: else what moves is one value with a flag beside it. */
const WIDE_SHARE = 0.4;

function areWideAlike(moving: readonly Cell[], pages: readonly CellPage[]): boolean {
  const widest = new Map<number, number>();
  for (const { slot, page, bits } of moving) {
    const moved = bits.map((at) => hasBit((pages[page] as CellPage).free, at));
    const wide = moved.lastIndexOf(true) - moved.indexOf(true) + 1;
    widest.set(slot, Math.max(wide, widest.get(slot) ?? 0));
  }
  const all = [...widest.values()].sort((a, b) => b - a);
  return all.length >= 2 && (all[1] as number) >= WIDE_SHARE * (all[0] as number);
}

/**
 * Bits that are saved by saying which bit of a cell turns with one code for all cells, against any bit being as likely; and by saying what
 * the cells show at first.
 */
function savedAtFirstLook(lattice: Lattice, pages: readonly CellPage[], flips: readonly Float64Array[]): number {
  const cells = cellsOf(lattice, pages);
  const moving = cells.filter(({ moves }) => moves);
  if (moving.length < CELLS_MIN || !areWideAlike(moving, pages)) return -Infinity;
  const turns = moving.map(({ page, bits }) => turnsOf(bits, flips[page] as Float64Array));
  const places = Float64Array.from({ length: lattice.pitch }, (_, place) =>
    turns.reduce((sum, own) => sum + (own[place] as number), 0.5),
  );
  const all = places.reduce((sum, each) => sum + each, 0);
  const saved = places.reduce((sum, each) => sum + each * Math.log2((each / all) * lattice.pitch), 0);
  return saved + stillCost(cells, pages) - firstValuesCost(cells, lattice.pitch);
}

/**
 * Lattices that are looked at closely. A first look tells a pitch, but hardly where in it a cell begins: the bits of alike cells turn as
 * often wherever the cut lies. So all cuts of a pitch and order are to find room.
 */
const CLOSELY = 48;

/** Lattices that cut the payload alike, some slots sooner or later. */
const cutOf = ({ order, pitch, start }: Lattice): string => `${order} ${pitch} ${(start ?? 0) % pitch}`;

/** The lattices that are worth a closer look, the best first. */
export function likelyLattices(pages: readonly CellPage[], bytes: number): Lattice[] {
  const flips = pages.map(({ rows }) => countFlips(rows));
  const found: { lattice: Lattice; saved: number }[] = [];
  for (const lattice of allLattices(bytes)) {
    const saved = savedAtFirstLook(lattice, pages, flips);
    if (saved > -Infinity) found.push({ lattice, saved });
  }
  const seen = new Set<string>();
  return found
    .sort((a, b) => b.saved - a.saved)
    .filter(({ lattice }) => {
      const own = cutOf(lattice);
      return !seen.has(own) && seen.add(own);
    })
    .slice(0, CLOSELY)
    .map(({ lattice }) => lattice);
}
