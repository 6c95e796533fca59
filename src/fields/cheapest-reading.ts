/** How a span is read cheapest: as it stands, as a sign beside a magnitude, or as decimal digits. */
import { decimalBits, digitGroups, fromDigits, fromMagnitude, READING_BITS, turnsNearZero } from './readings.ts';
import { spanCost, type SpanCost } from './span-cost.ts';
import type { SpanView } from './span-tally.ts';

/** Only values this wide are read in other ways. */
export const READ_BITS_MIN = 5;
export const DECIMAL_BITS_MAX = 28;

export interface Readings {
  readonly isSigned: boolean;
  readonly isDecimal: boolean;
}

/** Whether a span of a word of `size` bytes may be read so. */
export function readingsOf({ word, joined, shift, length }: SpanView, size: number): Readings {
  const isWide = length >= READ_BITS_MIN;
  return {
    isSigned: isWide && turnsNearZero(word, joined, shift + length - 1),
    isDecimal: isWide && length <= DECIMAL_BITS_MAX && 4 * digitGroups(word, shift, size * 8) >= length,
  };
}

/** The cheapest reading of a span; isFiner: as for `spanCost`. */
export function cheapestReading(view: SpanView, { isSigned, isDecimal }: Readings, isFiner = false): SpanCost {
  const { word, shift, length } = view;
  let best = spanCost(view, isFiner);
  const consider = (other: SpanCost): void => {
    const bits = other.bits + READING_BITS;
    if (bits < best.bits) best = { ...other, bits };
  };
  if (isSigned) consider(spanCost({ ...view, word: fromMagnitude(word, shift, length) }, isFiner));
  if (isDecimal)
    consider(
      spanCost({ ...view, word: fromDigits(word, shift, length), shift: 0, length: decimalBits(length) }, isFiner),
    );
  return best;
}
