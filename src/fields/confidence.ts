/**
 * How sure a span is: a logistic regression (Cox, Journal of the Royal Statistical Society B 20, 1958) on what speaks for and against it.
 * The margin of the division by itself is too sure, as no model fits real values exactly.
 *
 * Fitted, with a ridge of 2 on terms of equal spread, each maker of equal weight and the claims of a frame together of the weight of their
 * number's root, to 10053 claims on 43 captures of four makers of vehicles; cells of lists are judged elsewhere. Asked of captures left out of the fit,
 * of 2826 claims of 0.85 to 0.95 0.89 were right, of 5091 above that 0.98; asked of makers left out of it whole, 0.89 and 0.98.
 * `npx tsx tests/truth/fields-calibration.ts SEED...` says how others come true.
 */
import { termsOf, type Terms } from './confidence-terms.ts';
import type { Span } from './segment.ts';
import type { Surroundings } from './surroundings.ts';

type Weights = Readonly<Partial<Record<keyof Terms, number>>>;

/** Of single bits outside pages. */
const OF_FLAGS: Weights = {
  constant: -1.92,
  margin: 0.7,
  rivalLonger: -0.16,
  longerFew: -0.67,
  bitsPerMove: 0.4,
  leastBeside: 0.24,
  betweenTwo: 0.86,
  noiseBeside: -3.71,
  withBelow: -1.69,
  withAbove: -2.96,
  alone: 0.43,
};

/** Of what holds and changes at once. */
const OF_STATES: Weights = {
  constant: -5.8,
  margin: 0.75,
  rivalCut: 1.15,
  rivalLonger: 0.5,
  bitsPerMove: 0.27,
  length: 0.05,
  rows: 0.16,
  few: 0.14,
  many: -0.43,
  unmoved: -1.68,
  rise: -0.73,
  alike: -0.74,
  noiseBeside: -1.88,
  withBelow: -1.79,
  withAbove: -2.21,
  alone: 0.75,
};

/** Of numbers outside pages. */
const OF_NUMBERS: Weights = {
  constant: 0.33,
  margin: 0.33,
  rivalCut: 0.57,
  rivalLonger: -1.03,
  orderMargin: 0.24,
  crossing: 0.62,
  habitual: 1.23,
  stepShare: -1.22,
  rise: -0.86,
  once: -0.21,
  lowShare: -1.96,
  noiseBeside: -3.0,
  withBelow: -1.47,
  withAbove: -2.33,
  touching: -0.35,
};

/** Of fields on pages, cells of lists left out; `saved`: see `confidenceOnPages`. */
const OF_PAGES: Weights & { readonly saved: number } = {
  constant: -0.77,
  look: 0.91,
  saved: 0.5,
  fewRows: -0.23,
  others: 0.46,
  rise: -0.62,
  bitsPerMove: 0.15,
  few: -0.43,
  many: -0.35,
  wide: -0.19,
};

const SUREST = 0.999;

/** 0..1, rounded to thousandths: the surest are told apart by the last of them. Never certain. */
function shareOf(logOdds: number): number {
  return Math.round(1000 * Math.min(SUREST, 1 / (1 + Math.exp(-logOdds)))) / 1000;
}

const sumOf = (terms: Terms, weights: Weights): number =>
  Object.entries(weights).reduce((sum, [name, weight]) => sum + weight * terms[name as keyof Terms], 0);

const weightsOf = ({ length, cost }: Span): Weights =>
  length === 1 ? OF_FLAGS : cost.model === 'states' ? OF_STATES : OF_NUMBERS;

/** How sure it is that exactly these bits are one value, in this order. stepShare: as for `termsOf`. */
export const confidenceOf = (span: Span, around: Surroundings, stepShare: number): number =>
  shareOf(sumOf(termsOf(span, around, stepShare), weightsOf(span)));

/** Saved bits are told apart from this share on. */
const SAVED_LEAST = 0.01;

/**
 * The same of a field of some pages: that it lies on just these pages, and that there are pages at all, must be right too.
 * savedShare: of what the payload takes to write down without pages, the share that they save.
 */
export function confidenceOnPages(span: Span, around: Surroundings, stepShare: number, savedShare: number): number {
  const { saved, ...weights } = OF_PAGES;
  const savedBits = Math.log2(SAVED_LEAST + Math.max(0, Math.min(1, savedShare)));
  return shareOf(sumOf(termsOf(span, around, stepShare), weights) + saved * savedBits);
}
