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

type Table = readonly (readonly [number, number])[];

/**
 * How often claims of each support came true on simulated vehicles, made non-decreasing: [support, share right], linear
 * between. The margin alone is too sure of itself, because no model fits real values exactly. Outside pages: 12 drives,
 * 1157 claims; on pages: 984 claims of the same drives, which lean on each other within a frame (how: fields-calibration
 * beside the tests).
 */
const OUTSIDE: Table = [
  [0, 0.15],
  [0.05, 0.2],
  [0.12, 0.36],
  [0.25, 0.41],
  [0.38, 0.52],
  [0.66, 0.65],
  [0.8, 0.85],
  [1, 0.87],
];
const ON_PAGES: Table = [
  [0, 0.05],
  [0.11, 0.3],
  [0.14, 0.65],
  [0.2, 0.7],
  [0.25, 0.85],
  [1, 0.85],
];

function calibrate(table: Table, support: number): number {
  for (let i = 1; i < table.length; i++) {
    const [from, low] = table[i - 1] as readonly [number, number];
    const [to, high] = table[i] as readonly [number, number];
    if (support <= to) return low + ((high - low) * (support - from)) / (to - from);
  }
  return (table.at(-1) as readonly [number, number])[1];
}

/** 0..1, rounded to percents; never certain. onPage: whether the span was divided among the frames of a page. */
export function confidenceOf(span: Span, onPage: boolean): number {
  const crosses = span.lsb.bit + span.length > 8;
  const both = support(span.margin) * (crosses ? support(span.orderMargin) : 1);
  return Math.round(100 * calibrate(onPage ? ON_PAGES : OUTSIDE, both)) / 100;
}
