/**
 * How sure a span is: a logistic regression (Cox, Journal of the Royal Statistical Society B 20, 1958) on what speaks for and against it.
 * The margin of the division by itself is too sure, as no model fits real values exactly.
 */
import type { Coding } from '../frames/bits.ts';
import { termsOf, type Terms } from './confidence-terms.ts';
import type { Span } from './segment.ts';
import type { Surroundings } from './surroundings.ts';

type Weights = Readonly<Partial<Record<keyof Terms, number>>>;

/**
 * Fitted with a ridge of 2 to 1961 claims outside pages on 17 captures of four makers of vehicles, each maker of equal weight, the claims of
 * a frame together of the weight of their number's root. Fitted without a maker, of the claims of 0.85 to 0.95 of that maker 0.90 were right
 * (n 561), of those above 0.95 0.976 (n 930).
 */
const OF_FRAMES: Weights = {
  constant: -2.68,
  margin: 0.89,
  rivalCut: 0.92,
  rivalLonger: -0.44,
  crossing: -0.2,
  length: -0.18,
  once: -0.48,
  signed: -0.99,
  rows: 0.24,
  noiseBeside: -1.68,
  weakShare: -0.2,
  withBelow: -2.23,
  withAbove: -1.05,
  flagAlone: 0.74,
  flag: 0.23,
  states: 0.7,
  flagMoves: -1.75,
  statesMoves: -0.48,
  flagTouching: 0.78,
  numberTouching: -0.44,
  numberRise: -0.58,
  numberLow: 0.36,
  numberHabitual: 0.87,
};

/** As above, to the claims on pages of the same captures, cells of lists left out, ridge 6. `saved`: see `confidenceOnPages`. */
const OF_PAGES: Weights & { readonly saved: number } = {
  constant: -1.43,
  margin: 0.72,
  rivalCut: 0.36,
  rivalLonger: -0.44,
  flag: 0.53,
  length: -0.21,
  statesMoves: -0.28,
  flagMoves: -0.93,
  numberTouching: -0.13,
  withBelow: -1.1,
  numberRise: -0.28,
  saved: 1.49,
};

const SUREST = 0.999;

/** 0..1, rounded to thousandths: the surest are told apart by the last of them. Never certain. */
function shareOf(logOdds: number): number {
  return Math.round(1000 * Math.min(SUREST, 1 / (1 + Math.exp(-logOdds)))) / 1000;
}

const sumOf = (terms: Terms, weights: Weights): number =>
  Object.entries(weights).reduce((sum, [name, weight]) => sum + weight * (terms[name as keyof Terms] ?? 0), 0);

/** How sure it is that exactly these bits are one value, in this order. */
export const confidenceOf = (span: Span, coding: Coding, around: Surroundings): number =>
  shareOf(sumOf(termsOf(span, coding, around), OF_FRAMES));

/**
 * The same of a field of some pages: that it lies on just these pages, and that there are pages at all, must be right too.
 * savedShare: of what the payload takes to write down without pages, the share that they save.
 */
export function confidenceOnPages(span: Span, coding: Coding, around: Surroundings, savedShare: number): number {
  const { saved, ...weights } = OF_PAGES;
  return shareOf(sumOf(termsOf(span, coding, around), weights) + saved * Math.max(0, Math.min(1, savedShare)));
}
