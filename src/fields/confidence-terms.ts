/**
 * What speaks for and against a span, as the terms of a logistic regression: what the search for the cheapest division says of it, how its
 * bits move, and what lies around it. Logarithms are of base two and bounded: with many rows a small misfit adds up to a large margin.
 */
import { crossesByte } from '../frames/bits.ts';
import { marginOf } from './first-look.ts';
import type { Span } from './segment.ts';
import type { Surroundings } from './surroundings.ts';

const logarithm = (bits: number): number => Math.log2(1 + Math.max(0, bits));

/** Moves on a logarithm: what moved less is little known, what moves more is seldom a flag or states. */
const FEW_MOVES = 4;
const MANY_MOVES = 6;
/** With fewer rows than two to this nothing is told for sure. */
const HANDFUL = 5;
const BITS_PER_MOVE_MOST = 16;
const ORDER_MOST = 8;
const RISE_MAX = 3;
const ONCE_MAX = 6;
const ALIKE_MAX = 4;
const WIDE = 16;
/** Widths of which most numbers are. */
const HABITUAL = [8, 10, 12, 16];
/** Values this narrow may be flags that one switch throws. */
const ALIKE_BITS_MAX = 6;

/** By how much, on the logarithm, a bit changes more often than the one below it, at most: in a number lower bits change more often. */
const riseOf = (flips: readonly number[]): number =>
  flips.reduce((most, times, at) => (at === 0 ? 0 : Math.max(most, Math.log2((times + 1) / (flips[at - 1]! + 1)))), 0);

/** Pairs of bits side by side that seem never to have moved one without the other. */
const alikeOf = (flips: readonly number[]): number =>
  flips.filter((times, at) => times > 0 && times === flips[at + 1]).length;

/** How many bits changed once at most. */
const onceOf = (flips: readonly number[]): number => flips.filter((times) => times <= 1).length;

/** stepShare: 0..1 the largest step of the value as a share of its range. Each term is 0 where there is nothing to say. */
export function termsOf(span: Span, around: Surroundings, stepShare: number) {
  const { length, rival, cost } = span;
  const { flips, moves, rows } = around;
  const crossing = crossesByte(span);
  const few = Math.max(0, FEW_MOVES - logarithm(moves));
  return {
    constant: 1,
    margin: marginOf(span),
    rivalCut: Number(rival === 'cut'),
    rivalLonger: Number(rival === 'longer'),
    longerFew: rival === 'longer' ? few : 0,
    orderMargin: crossing ? Math.min(ORDER_MOST, logarithm(span.orderMargin)) : ORDER_MOST,
    crossing: Number(crossing),
    wide: Math.max(0, length - WIDE),
    habitual: Number(HABITUAL.includes(length)),
    bitsPerMove: Math.min(BITS_PER_MOVE_MOST, cost.bits / (1 + cost.moves)),
    few,
    many: Math.max(0, logarithm(moves) - MANY_MOVES),
    rows: Math.log2(rows),
    handful: Math.max(0, HANDFUL - Math.log2(rows)),
    stepShare: Math.min(1, stepShare),
    rise: Math.min(RISE_MAX, riseOf(flips)),
    once: Math.min(ONCE_MAX, onceOf(flips)),
    alike: length > ALIKE_BITS_MAX || moves <= 1 ? 0 : Math.min(ALIKE_MAX, alikeOf(flips)),
    unmoved: Number(moves === 0),
    lowShare: (flips[0] ?? 0) / rows,
    noiseBeside: Number(around.noiseBeside),
    withBelow: around.withBelow,
    withAbove: around.withAbove,
    alone: around.aloneShare,
    touching: Math.min(2, span.touching),
    betweenTwo: Number(around.betweenTwo),
    leastBeside: around.leastBeside,
    others: around.looksOfOthers,
    look: around.look,
  };
}

export type Terms = ReturnType<typeof termsOf>;
