/**
 * How sure a span is at first look, by itself: a logistic regression on what the division says of it and how it moves with those that touch
 * it. What lies on the same frames is judged by it before any of it is judged for good: where the rest is doubtful, the division is.
 */
import { crossesByte } from '../frames/bits.ts';
import type { Span } from './segment.ts';

interface Moving {
  readonly withBelow: number;
  readonly withAbove: number;
  readonly noiseBeside: boolean;
}

/** Fitted with a ridge of 4 to the claims that `confidence.ts` names, those in lists left out. */
const WEIGHTS = {
  constant: -1.6,
  margin: 0.66,
  rivalCut: 1.23,
  rivalLonger: 0.11,
  withBelow: -1.81,
  withAbove: -1.86,
  length: 0.05,
  noiseBeside: -1.47,
  flag: 1.46,
  crossing: -0.07,
};

/** Log-odds are bounded so: beyond it one neighbour says no more than another. */
const MOST = 3;
const MARGIN_MOST = 4;

/** Bits of margin on a logarithm, bounded: with many rows a small misfit adds up to a large margin. */
export const marginOf = ({ margin }: Pick<Span, 'margin'>): number =>
  Math.min(MARGIN_MOST, Math.log2(1 + Math.max(0, margin)));

/** Log-odds that a span is right, within -3..3. */
export function firstLook(span: Span, { withBelow, withAbove, noiseBeside }: Moving): number {
  const { length, rival } = span;
  const odds =
    WEIGHTS.constant +
    WEIGHTS.margin * marginOf(span) +
    (rival === 'cut' ? WEIGHTS.rivalCut : rival === 'longer' ? WEIGHTS.rivalLonger : 0) +
    WEIGHTS.withBelow * withBelow +
    WEIGHTS.withAbove * withAbove +
    WEIGHTS.length * Math.log2(length) +
    WEIGHTS.noiseBeside * Number(noiseBeside) +
    WEIGHTS.flag * Number(length === 1) +
    WEIGHTS.crossing * Number(crossesByte(span));
  return Math.max(-MOST, Math.min(MOST, odds));
}
