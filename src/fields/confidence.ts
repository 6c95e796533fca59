/**
 * How sure a span is. The margin says how many bits more the payload would cost without it; a field is the surer the
 * larger the margin, and a value over several bytes also the surer the more its order is supported.
 */
import type { Span } from './segment.ts';

/** Logistic in the logarithm of the margin. */
const STEEPNESS = 1;
const MIDDLE_BITS = 8;

const logistic = (x: number): number => 1 / (1 + Math.exp(-x));
const support = (bits: number): number =>
  logistic(STEEPNESS * (Math.log2(1 + Math.max(0, Math.min(bits, 1e6))) - Math.log2(1 + MIDDLE_BITS)));

/** 0..1, rounded to percents; never certain. */
export function confidenceOf(span: Span): number {
  const crosses = span.lsb.bit + span.length > 8;
  const both = support(span.margin) * (crosses ? support(span.orderMargin) : 1);
  return Math.round(100 * Math.min(0.99, Math.max(0.02, both))) / 100;
}
