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
 * Fitted first, with a ridge of 2, to 3404 claims outside pages on 28 captures of four makers of vehicles; then, as spans had got finer prices, with a
 * ridge of 8 around those weights, to 2956 claims on 16 further captures of three makers, each maker of equal weight, the claims of a frame
 * together of the weight of their number's root. Asked of captures that were left out of the fit, of 914 claims of 0.85 to 0.95 0.92 were right, of
 * 1346 above that 0.98; `npx tsx tests/truth/fields-calibration.ts SEED...` says how others come true. `unmoved` and `alike` came last, with a ridge
 * of 4 on top of the other weights, of 3098 claims on 24 captures of four makers, each of equal weight.
 */
const OF_FRAMES: Weights = {
  constant: -1.36,
  margin: 0.72,
  rivalCut: 1.01,
  rivalLonger: -0.15,
  crossing: -0.1,
  length: -0.12,
  once: -0.54,
  unmoved: -0.5,
  alike: -0.35,
  signed: -0.43,
  rows: 0.11,
  noiseBeside: -1.53,
  weakShare: -0.6,
  withBelow: -2.86,
  withAbove: -2.19,
  flagAlone: 0.72,
  flag: 0.07,
  states: 0.32,
  flagMoves: -1.29,
  statesMoves: -0.25,
  flagTouching: 0.67,
  numberTouching: 0.05,
  numberRise: -0.7,
  numberHabitual: 0.79,
};

/**
 * The same of 1655 claims on pages, cells of lists left out, with a ridge of 6: of 621 claims of 0.85 to 0.95 0.93 were right. `saved`: see
 * `confidenceOnPages`.
 */
const OF_PAGES: Weights & { readonly saved: number } = {
  constant: -2.17,
  margin: 0.64,
  rivalCut: 0.45,
  rivalLonger: -0.48,
  flag: 0.88,
  length: -0.2,
  statesMoves: -0.19,
  flagMoves: -0.97,
  numberTouching: -0.05,
  withBelow: -1.01,
  numberRise: -0.16,
  saved: 2.79,
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
