/**
 * How sure a span is: a logistic regression (Cox, Journal of the Royal Statistical Society B 20, 1958) on what speaks for and against it.
 * The margin of the division by itself is too sure, as no model fits real values exactly.
 *
 * Fitted, with a ridge of 2 on terms of equal spread, each maker of equal weight and the claims of a frame together of the weight of their
 * number's root, to 19862 claims on 86 captures of four makers of vehicles; cells of lists are judged elsewhere; `handful`, which few of them show, was drawn to a weight of -0.7. Asked of captures left out of the fit,
 * of 5620 claims of 0.85 to 0.95 0.91 were right, of 6777 above that 0.98; asked of makers left out of it whole, 0.91 and 0.98.
 * `npx tsx tests/truth/fields-calibration.ts SEED...` says how others come true, `npx tsx tests/truth/fields-fit.ts SEED...` fits them anew.
 */
import { logistic } from '../kit/statistics/distributions.ts';
import type { When } from '../map/schema.ts';
import { termsOf, type Terms } from './confidence-terms.ts';
import type { Span } from './segment.ts';
import type { Surroundings } from './surroundings.ts';
import type { Watch } from './types.ts';

type Weights = Readonly<Partial<Record<keyof Terms, number>>>;

/** Of single bits outside pages. */
const OF_FLAGS: Weights = {
  constant: -2.37,
  margin: 0.63,
  rivalLonger: -0.37,
  longerFew: -0.52,
  bitsPerMove: 0.37,
  others: 0.59,
  leastBeside: 0.11,
  betweenTwo: 0.77,
  noiseBeside: -3.14,
  withBelow: -1.45,
  withAbove: -2.7,
  alone: 0.25,
  handful: -0.94,
};

/** Of what holds and changes at once. */
const OF_STATES: Weights = {
  constant: -4.65,
  margin: 0.61,
  rivalCut: 1.02,
  rivalLonger: 0.54,
  bitsPerMove: 0.3,
  rows: 0.07,
  many: -0.42,
  unmoved: -0.66,
  stepShare: 0.45,
  rise: -0.8,
  alike: -0.64,
  noiseBeside: -1.73,
  withBelow: -2.05,
  withAbove: -2.36,
  alone: 0.56,
  handful: -0.44,
};

/** Of numbers outside pages. */
const OF_NUMBERS: Weights = {
  constant: -0.73,
  margin: 0.31,
  rivalCut: 1.1,
  rivalLonger: -0.41,
  orderMargin: 0.33,
  crossing: 0.49,
  habitual: 0.86,
  stepShare: -1.38,
  rise: -0.85,
  once: -0.15,
  lowShare: -1.97,
  noiseBeside: -2.72,
  withBelow: -1.65,
  withAbove: -2.14,
  touching: -0.28,
  unmoved: -1.58,
  handful: -0.83,
};

/** Of fields on pages, cells of lists left out; `saved`: see `confidenceOnPages`. */
const OF_PAGES: Weights & { readonly saved: number } = {
  constant: -0.66,
  look: 0.88,
  saved: 0.63,
  handful: -2.04,
  others: 0.38,
  rise: -0.7,
  bitsPerMove: 0.17,
  few: -0.42,
  many: -0.29,
  wide: -0.2,
};

const SUREST = 0.999;

/** 0..1, rounded to thousandths: the surest are told apart by the last of them. Never certain. */
function shareOf(logOdds: number): number {
  return Math.round(1000 * Math.min(SUREST, logistic(logOdds))) / 1000;
}

const sumOf = (terms: Terms, weights: Weights): number =>
  Object.entries(weights).reduce((sum, [name, weight]) => sum + weight * terms[name as keyof Terms], 0);

const WEIGHTS = { flags: OF_FLAGS, states: OF_STATES, numbers: OF_NUMBERS } as const;

const groupOf = ({ length, cost }: Span): keyof typeof WEIGHTS =>
  length === 1 ? 'flags' : cost.model === 'states' ? 'states' : 'numbers';

/** How sure it is that exactly these bits are one value, in this order. stepShare: as for `termsOf`. */
export function confidenceOf(span: Span, around: Surroundings, stepShare: number, watch?: Watch): number {
  const [group, terms] = [groupOf(span), termsOf(span, around, stepShare)];
  watch?.({ place: span, when: null, group, terms });
  return shareOf(sumOf(terms, WEIGHTS[group]));
}

/** Saved bits are told apart from this share on. */
const SAVED_LEAST = 0.01;

export interface OnPages {
  readonly when: When;
  /** Of what the payload takes to write down without pages, the share that they save. */
  readonly savedShare: number;
}

/** The same of a field of some pages: that it lies on just these pages, and that there are pages at all, must be right too. */
export function confidenceOnPages(
  span: Span,
  around: Surroundings,
  stepShare: number,
  { when, savedShare }: OnPages,
  watch?: Watch,
): number {
  const { saved, ...weights } = OF_PAGES;
  const own = termsOf(span, around, stepShare);
  const savedBits = Math.log2(SAVED_LEAST + Math.max(0, Math.min(1, savedShare)));
  watch?.({ place: span, when, group: 'pages', terms: { ...own, saved: savedBits } });
  return shareOf(sumOf(own, weights) + saved * savedBits);
}
