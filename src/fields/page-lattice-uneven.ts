/**
 * Cells at an uneven pitch: as where each begins with a byte or a pair of bytes, with a last one that is shorter for the sake of what else
 * the payload holds. Where they begin is read off the bits that move on any of the pages: a cell's lowest bits do on most.
 */
import { bitPositions, type ByteOrder, type Piece } from '../frames/bits.ts';
import { hasBit } from './mask.ts';
import { PITCH_MAX, type CellPage, type Lattice } from './page-lattice.ts';

/** Places of bits from the least significant end of a value up: of `little` the lowest bit of byte 0 is 0, of `big` that of the last byte. */
const placesOf = (order: ByteOrder, bytes: number): number[] =>
  bitPositions({ lsb: { byte: order === 'little' ? 0 : bytes - 1, bit: 0 }, length: 8 * bytes, order });

interface Run {
  readonly from: number;
  readonly length: number;
}

/** Stretches of places whose bits move on a page at least. */
function runsOf(places: readonly number[], pages: readonly CellPage[]): Run[] {
  const runs: Run[] = [];
  let from = -1;
  for (let place = 0; place <= places.length; place++) {
    const at = places[place];
    const moves = at !== undefined && pages.some(({ free }) => hasBit(free, at));
    if (moves && from < 0) from = place;
    if (!moves && from >= 0) {
      runs.push({ from, length: place - from });
      from = -1;
    }
  }
  return runs;
}

/** In the order in which the payload has them. */
function slotsOf(runs: readonly Run[], length: number, places: readonly number[], order: ByteOrder): Piece[] {
  const slots = runs.map(({ from }): Piece => {
    const at = places[from] as number;
    return { lsb: { byte: at >> 3, bit: at & 7 }, length, order };
  });
  return order === 'little' ? slots : slots.reverse();
}

const isEven = (runs: readonly Run[]): boolean =>
  runs.every(({ from }, index) => index < 2 || from - runs[index - 1]!.from === runs[1]!.from - runs[0]!.from);

/** Of each order, all widths from that of the widest stretch that moves up to where cells would overlap. */
export function unevenLattices(pages: readonly CellPage[], bytes: number): Lattice[] {
  return (['little', 'big'] as const).flatMap((order) => {
    const places = placesOf(order, bytes);
    const runs = runsOf(places, pages);
    if (runs.length < 3 || isEven(runs)) return [];
    const widest = Math.max(...runs.map(({ length }) => length));
    const room = Math.min(...runs.map(({ from }, index) => (runs[index + 1]?.from ?? places.length) - from), PITCH_MAX);
    return Array.from({ length: Math.max(0, room - widest + 1) }, (_, more): Lattice => {
      const pitch = widest + more;
      return { order, pitch, start: null, slots: slotsOf(runs, pitch, places, order) };
    });
  });
}
