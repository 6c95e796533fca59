/** Where a selector lies, what it says, and in what turn the pages come. */
import type { Placement } from '../../../src/frames/bits.ts';
import type { Random } from '../../../src/kit/random.ts';
import { inByte, type Board } from './board.ts';
import { chance, integer, some, weighted } from './draw.ts';

/** A selector somewhere in the first free byte; takes its bits. */
export function selectorFor(board: Board, pages: number, from: number, random: Random): Placement | null {
  const byte = board.freeByte(from);
  if (byte < 0) return null;
  const least = Math.max(2, Math.ceil(Math.log2(pages + 1)));
  const bits = weighted(random, [
    [4, 8],
    [2, Math.max(4, least)],
    [1, least],
  ]);
  const place = inByte(byte, chance(random, 0.6) ? 0 : 8 - bits, bits);
  board.take(place);
  return place;
}

/** Different codes: one after another from 0 or 1, in steps, or any. */
export function codesFor(count: number, bits: number, random: Random): number[] {
  const size = 2 ** bits;
  const way = weighted(random, [
    [5, 'in turn'],
    [1, 'in steps'],
    [2, 'any'],
  ] as const);
  if (way === 'any')
    return some(
      random,
      Array.from({ length: size }, (_, code) => code),
      count,
    ).sort((a, b) => a - b);
  const step = way === 'in steps' ? Math.max(1, Math.min(16, Math.floor((size - 1) / count))) : 1;
  const first = count * step < size && chance(random, 0.4) ? 1 : 0;
  return Array.from({ length: count }, (_, index) => first + index * step);
}

/** In turn; each several times running; some oftener than others; without order. */
export function turnOf(pages: number, random: Random): number[] {
  const all = Array.from({ length: pages }, (_, index) => index);
  const way = weighted(random, [
    [6, 'in turn'],
    [1.5, 'runs'],
    [2, 'uneven'],
    [1, 'mixed'],
  ] as const);
  switch (way) {
    case 'in turn':
      return all;
    case 'runs': {
      const times = integer(random, 2, 4);
      return all.flatMap((index) => Array.from({ length: times }, () => index));
    }
    case 'uneven':
      return all.slice(1).flatMap((index) => (index % 3 === 0 ? [0, 0, index] : [0, index]));
    case 'mixed':
      return random.shuffle([...all, ...all, ...all, ...all]);
  }
}
