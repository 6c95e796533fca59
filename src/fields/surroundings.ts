/**
 * What lies around a span and moves with it. A part of a value moves with the rest of it: its upper bits only when the lower ones carry, so
 * a span that moves where the one below moves, far more often than chance has it, is hardly a value by itself; one that moves alone is.
 */
import { bitPositions, nextBit } from '../frames/bits.ts';
import { firstLook } from './first-look.ts';
import { hasBit, leftBy, maskOf } from './mask.ts';
import { countFlips, type PayloadRows } from './payload-rows.ts';
import type { Span } from './segment.ts';

export interface Surroundings {
  readonly rows: number;
  readonly moves: number;
  /** [length] how often each of its bits changed, the least significant first. */
  readonly flips: readonly number[];
  /** Whether the bit below it or above it moves and belongs to nothing. */
  readonly noiseBeside: boolean;
  /** Log-odds of this span at first look, -3..3; the mean of the others on the same frames, 2 with none; the least of those that touch it, 3 with none. */
  readonly look: number;
  readonly looksOfOthers: number;
  readonly leastBeside: number;
  /** Whether spans touch it on both sides. */
  readonly betweenTwo: boolean;
  /** -1..1: the share of its moves in which the span below moved too, less that span's share of all rows; 0 with none. */
  readonly withBelow: number;
  /** The same of the span above: how much of its moves come with a move of this one. */
  readonly withAbove: number;
  /** The share of its moves in which nothing else moved, those that touch it left aside. */
  readonly aloneShare: number;
}

/** Log-odds where there is nothing else on the frames, and where nothing touches a span. */
const NO_OTHERS = 2;
const NO_NEIGHBOUR = 3;

interface Watched {
  readonly mask: Uint8Array;
  readonly first: number;
  readonly last: number;
  /** Indexes of the spans that touch it: several where it lies within a byte and may go on in either order. */
  readonly below: readonly number[];
  readonly above: readonly number[];
  /** Bits that are neither its own nor of those that touch it. */
  readonly elsewhere: Uint8Array;
  moves: number;
  alone: number;
  /** How often those moved with it. */
  readonly withBelow: number[];
  readonly withAbove: number[];
}

/** The bits next to its lowest or highest one. */
function bitsBeside({ order }: Span, bits: readonly number[], way: 1 | -1): number[] {
  const end = (way < 0 ? bits[0] : bits.at(-1)) as number;
  const isWithinByte = bits.every((at) => at >> 3 === end >> 3);
  return isWithinByte
    ? [...new Set([nextBit(end, way, 'little'), nextBit(end, way, 'big')])]
    : [nextBit(end, way, order)];
}

function watch(spans: readonly Span[], free: Uint8Array): Watched[] {
  const places = spans.map((span) => bitPositions(span));
  const holdersOf = (beside: readonly number[], own: number): number[] =>
    places.flatMap((bits, index) => (index !== own && beside.some((at) => bits.includes(at)) ? [index] : []));
  return spans.map((span, own) => {
    const bits = places[own] as number[];
    const mask = maskOf(free.length, bits);
    const below = holdersOf(bitsBeside(span, bits, -1), own);
    const above = holdersOf(bitsBeside(span, bits, 1), own);
    const near = [own, ...below, ...above].map((index) => spans[index] as Span);
    const bytes = bits.map((at) => at >> 3);
    const counts = { moves: 0, alone: 0, withBelow: below.map(() => 0), withAbove: above.map(() => 0) };
    const [first, last] = [Math.min(...bytes), Math.max(...bytes)];
    return { mask, first, last, below, above, elsewhere: leftBy(free, near), ...counts };
  });
}

function meets(differing: Uint8Array, mask: Uint8Array, first: number, last: number): boolean {
  for (let byte = first; byte <= last; byte++)
    if (((differing[byte] as number) & (mask[byte] as number)) !== 0) return true;
  return false;
}

const mostOf = (shares: readonly number[]): number => (shares.length === 0 ? 0 : Math.max(...shares));

function countMoves({ bytes, count, data }: PayloadRows, watched: readonly Watched[]): void {
  const differing = new Uint8Array(bytes);
  const moved = new Uint8Array(watched.length);
  for (let row = 1; row < count; row++) {
    let any = 0;
    for (let byte = 0, at = row * bytes; byte < bytes; byte++, at++)
      any |= differing[byte] = (data[at] as number) ^ (data[at - bytes] as number);
    if (any === 0) continue;
    watched.forEach(({ mask, first, last }, index) => (moved[index] = meets(differing, mask, first, last) ? 1 : 0));
    watched.forEach((each, index) => {
      if (moved[index] === 0) return;
      each.moves++;
      each.below.forEach((other, at) => (each.withBelow[at]! += moved[other] as number));
      each.above.forEach((other, at) => (each.withAbove[at]! += moved[other] as number));
      if (!meets(differing, each.elsewhere, 0, bytes - 1)) each.alone++;
    });
  }
}

/** What is known of a span before the others are looked at. */
type Alone = Omit<Surroundings, 'look' | 'looksOfOthers' | 'leastBeside' | 'betweenTwo'>;

function withOthers(spans: readonly Span[], watched: readonly Watched[], alone: readonly Alone[]): Surroundings[] {
  const looks = spans.map((span, index) => firstLook(span, alone[index] as Alone));
  const sum = looks.reduce((all, look) => all + look, 0);
  return alone.map((each, index): Surroundings => {
    const { below, above } = watched[index] as Watched;
    const look = looks[index] as number;
    return {
      ...each,
      look,
      looksOfOthers: looks.length > 1 ? (sum - look) / (looks.length - 1) : NO_OTHERS,
      leastBeside: Math.min(NO_NEIGHBOUR, ...[...below, ...above].map((other) => looks[other] as number)),
      betweenTwo: below.length > 0 && above.length > 0,
    };
  });
}

/**
 * rows: those that the spans were read from. free: [bytes] bits that moved and that no guard or selector holds; noise: those of them that
 * belong to nothing. @returns one a span
 */
export function surroundingsOf(
  rows: PayloadRows,
  spans: readonly Span[],
  free: Uint8Array,
  noise: Uint8Array,
): Surroundings[] {
  const watched = watch(spans, free);
  countMoves(rows, watched);
  const flips = countFlips(rows);
  const alone = spans.map((span, index): Alone => {
    const { moves, alone: times, below, above, withBelow, withAbove } = watched[index] as Watched;
    const bits = bitPositions(span);
    const beside = [...bitsBeside(span, bits, -1), ...bitsBeside(span, bits, 1)];
    const movesOf = (at: number): number => (watched[at] as Watched).moves;
    const shareOf = (times: number, of: number, byChance: number): number =>
      times / Math.max(1, of) - byChance / rows.count;
    return {
      rows: rows.count,
      moves,
      flips: bits.map((at) => flips[at] as number),
      noiseBeside: beside.some((at) => hasBit(noise, at)),
      withBelow: mostOf(below.map((other, at) => shareOf(withBelow[at] as number, moves, movesOf(other)))),
      withAbove: mostOf(above.map((other, at) => shareOf(withAbove[at] as number, movesOf(other), moves))),
      aloneShare: times / Math.max(1, moves),
    };
  });
  return withOthers(spans, watched, alone);
}
