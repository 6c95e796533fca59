/** Selectors and the turns of their values: in order, with favourites, at random, on codes without order; and one within another's page. */
import type { Piece } from '../../../../src/frames/bits.ts';
import type { Random } from '../../../../src/kit/random.ts';
import type { Presence } from '../../fields-truth.ts';
import type { FreeBits } from './free-bits.ts';

export interface PagePlan {
  /** All selectors' conditions under which the page is on. */
  readonly on: Presence;
}

export interface SelectorPlan {
  readonly place: Piece;
  readonly on: Presence;
}

export interface PagesPlan {
  readonly selectors: readonly SelectorPlan[];
  readonly pages: readonly PagePlan[];
  /** Page numbers in the order of their turn, gone through again and again; each page is sent so many times running. */
  readonly turns: readonly number[];
  readonly repeats: number;
}

function drawCodes(random: Random, length: number, count: number): number[] {
  const all = 2 ** length;
  const style = random.next();
  const stride = style < 0.2 && count * 16 <= all ? 16 : 1;
  const start = style < 0.5 && (count + 1) * stride <= all ? 1 : 0;
  const codes = Array.from({ length: count }, (_, index) => (start + index) * stride);
  return style > 0.85 ? random.shuffle(Array.from({ length: all }, (_, code) => code)).slice(0, count) : codes;
}

function drawTurns(random: Random, count: number): number[] {
  const plain = Array.from({ length: count }, (_, page) => page);
  const style = random.next();
  if (style < 0.55) return plain;
  if (style < 0.8) return plain.slice(1).flatMap((page) => [0, page]);
  return random.shuffle([...plain, ...plain, ...Array.from({ length: count }, () => random.below(count))]);
}

export function drawPages(random: Random, bits: FreeBits): PagesPlan {
  const length = random.pick([1, 2, 3, 3, 4, 4, 6, 8]);
  const place = bits.place(random, length, 'little', length === 8 ? 'bytes' : 'close') as Piece;
  const count = Math.max(2, Math.min(2 ** length, 2 + random.below(length === 8 ? 12 : 7)));
  const codes = drawCodes(random, length, count);
  const selectors: SelectorPlan[] = [{ place, on: [] }];
  const nests = length > 1 && random.next() < 0.25;
  const inner = nests ? bits.place(random, 2, 'little', 'close') : null;
  const pages = codes.flatMap((code, index): PagePlan[] => {
    const on: Presence = [{ place, values: [code] }];
    if (!inner || index !== count - 1) return [{ on }];
    selectors.push({ place: inner, on });
    return [0, 1, 2].map((value) => ({ on: [...on, { place: inner, values: [value] }] }));
  });
  return { selectors, pages, turns: drawTurns(random, pages.length), repeats: random.next() < 0.2 ? 2 : 1 };
}
