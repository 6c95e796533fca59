/**
 * Cells of a pack share their pages with two or three others, at any bit: no byte holds one whole, so that byte by byte the page number seems to
 * save nothing. Here windows of eight bits, at each bit and in both orders, are asked whether knowing a page's usual step makes theirs cheaper,
 * learnt on the first half of the rows and charged on the second (`offsetGain`). Several windows apart must say so
 * where one may be a tag.
 */
import type { Piece } from '../frames/bits.ts';
import { BITS_SET } from './bits-set.ts';
import { both, claim } from './mask.ts';
import { goesOneWay, offsetGain } from './page-offsets.ts';
import { movedMask, type PayloadRows } from './payload-rows.ts';

/** Bits that a window saves at least. */
const WINDOW_GAIN_MIN = 25;
/** Bits of a window that move at least. */
const MOVING_MIN = 3;

interface Window {
  /** The bits of `byte` from `shift` on and the low ones of the byte after it; the other way round where it is big-endian. */
  readonly byte: number;
  readonly shift: number;
  readonly order: 'little' | 'big';
}

/** Its bits in its byte and in the byte after it. */
const masksOf = ({ shift, order }: Window): readonly [number, number] =>
  order === 'little' ? [(0xff << shift) & 0xff, 0xff >> (8 - shift)] : [0xff >> shift, (0xff << (8 - shift)) & 0xff];

function* windowsOf(bytes: number, moved: Uint8Array, open: Uint8Array): Iterable<Window> {
  for (let byte = 0; byte < bytes; byte++)
    for (let shift = 0; shift < 8; shift++)
      for (const order of ['little', 'big'] as const) {
        if (shift === 0 ? order === 'big' : byte + 1 === bytes) continue;
        const window = { byte, shift, order };
        const masks = masksOf(window);
        const bitsOf = (mask: Uint8Array): number =>
          (BITS_SET[(mask[byte] as number) & masks[0]] as number) +
          (BITS_SET[(mask[byte + 1] ?? 0) & masks[1]] as number);
        const moving = bitsOf(moved);
        if (moving >= MOVING_MIN && bitsOf(open) === moving) yield window;
      }
}

/** [rows] the step to each row from the row before, the shorter way round. */
function stepsOf({ bytes, data, count }: PayloadRows, { byte, shift, order }: Window): Float64Array {
  const steps = new Float64Array(count);
  let last = 0;
  for (let row = 0; row < count; row++) {
    const at = row * bytes + byte;
    const [own, next] = [data[at] as number, shift === 0 ? 0 : (data[at + 1] as number)];
    const value = order === 'little' ? ((next << 8) | own) >> shift : ((own << 8) | next) >> (8 - shift);
    if (row > 0) steps[row] = ((value - last) << 24) >> 24;
    last = value & 0xff;
  }
  return steps;
}

const shareBits = (a: Window, b: Window): boolean => {
  const [own, next] = masksOf(a);
  const [other, after] = masksOf(b);
  if (a.byte === b.byte) return (own & other) !== 0 || (next & after) !== 0;
  if (a.byte + 1 === b.byte) return (next & other) !== 0;
  return b.byte + 1 === a.byte && (after & own) !== 0;
};

/** The first row, and those on which the page is another than on the row before. */
const turnsOf = (pages: ArrayLike<number>): number[] =>
  Array.from({ length: pages.length }, (_, row) => row).filter((row) => row === 0 || pages[row] !== pages[row - 1]);

/**
 * Bits that windows apart save on the second half of the rows by knowing each page's usual step; 0 where fewer of them than `needed` save anything.
 * open: [bytes] bits that may be paged; pages: [rows] values of a would-be selector; beside: what holds no cell, such as its own bits;
 * turnsOnly: whether only rows are asked on which the page turns, as an index may be held for some rows that tell nothing of it.
 */
export function gainOverWindows(
  rows: PayloadRows,
  open: Uint8Array,
  pages: ArrayLike<number>,
  beside: readonly Piece[],
  needed: number,
  turnsOnly = false,
): number {
  const moved = movedMask(rows);
  const asked = turnsOnly ? turnsOf(pages) : null;
  const pagesAsked = asked ? Uint8Array.from(asked, (row) => pages[row] as number) : pages;
  const left = both(open, moved);
  for (const piece of beside) claim(left, piece);
  const found: { window: Window; gain: number }[] = [];
  for (const window of windowsOf(rows.bytes, moved, left)) {
    const all = stepsOf(rows, window);
    const steps = asked ? Float64Array.from(asked, (row) => all[row] as number) : all;
    const gain = goesOneWay(steps, pagesAsked) ? 0 : offsetGain(steps, pagesAsked);
    if (gain >= WINDOW_GAIN_MIN) found.push({ window, gain });
  }
  const apart: typeof found = [];
  for (const each of found.sort((a, b) => b.gain - a.gain))
    if (!apart.some(({ window }) => shareBits(window, each.window))) apart.push(each);
  return apart.length < needed ? 0 : apart.reduce((sum, { gain }) => sum + gain, 0);
}
