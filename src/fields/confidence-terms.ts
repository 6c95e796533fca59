/**
 * What speaks for and against a span, as the terms of a logistic regression: what the search for the cheapest division says of it, how its
 * bits move, and what lies around it. Logarithms are of base two and bounded: with many rows a small misfit adds up to a large margin.
 */
import type { Coding } from '../frames/bits.ts';
import type { Span } from './segment.ts';
import type { Surroundings } from './surroundings.ts';

const logarithm = (bits: number, most: number): number => Math.log2(1 + Math.max(0, Math.min(bits, 2 ** most - 1)));

/** What lies above this many bits says little. */
const ENOUGH = 4;
/** Flags seldom move as often as this (on the logarithm); bits of numbers do. */
const FLAG_MOVES = 6;
const MOST_MOVES = 20;
const RISE_MAX = 3;
/** Widths of which most numbers are. */
const HABITUAL = [8, 10, 12, 16];

/** By how much, on the logarithm, a bit changes more often than the one below it, at most: in a number lower bits change more often. */
const riseOf = (flips: readonly number[]): number =>
  flips.reduce((most, times, at) => (at === 0 ? 0 : Math.max(most, Math.log2((times + 1) / (flips[at - 1]! + 1)))), 0);

/** Values this narrow may be flags that one switch throws. */
const ALIKE_BITS_MAX = 6;

/** Pairs of bits side by side that seem never to have moved one without the other. */
const alikeOf = (flips: readonly number[]): number =>
  flips.filter((times, at) => times > 0 && times === flips[at + 1]).length;

/** What only numbers, states or flags have. */
function termsByKind({ length, cost, touching }: Span, { moves, flips }: Surroundings) {
  const isFlag = length === 1;
  const isStates = !isFlag && cost.model === 'states';
  const [flag, states, number] = [isFlag, isStates, !isFlag && !isStates].map(Number) as [number, number, number];
  const moved = logarithm(moves, MOST_MOVES);
  return {
    flag,
    states,
    flagMoves: flag * Math.max(0, moved - FLAG_MOVES),
    statesMoves: states * moved,
    flagTouching: flag * touching,
    numberTouching: number * Math.min(2, touching),
    numberRise: number * Math.min(RISE_MAX, riseOf(flips)),
    numberHabitual: number * Number(HABITUAL.includes(length)),
  };
}

/** Each of them is 0 where there is nothing to say. */
export function termsOf(span: Span, coding: Coding, around: Surroundings) {
  const { lsb, length, margin, rival } = span;
  return {
    constant: 1,
    margin: logarithm(margin, ENOUGH),
    rivalCut: Number(rival === 'cut'),
    rivalLonger: Number(rival === 'longer'),
    crossing: Number(lsb.bit + length > 8),
    length: Math.log2(length),
    once: Number(around.moves <= 1),
    unmoved: Number(around.moves === 0),
    alike: length > ALIKE_BITS_MAX || around.moves <= 1 ? 0 : alikeOf(around.flips),
    signed: Number(coding === 'signed' || coding === 'sign-magnitude'),
    rows: Math.log2(around.rows),
    noiseBeside: Number(around.noiseBeside),
    weakShare: around.weakShare,
    withBelow: around.withBelow,
    withAbove: around.withAbove,
    flagAlone: length === 1 ? around.aloneShare : 0,
    ...termsByKind(span, around),
  };
}

export type Terms = ReturnType<typeof termsOf>;
