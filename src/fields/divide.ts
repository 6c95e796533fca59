/** Divides the free bits of rows into spans, on a bounded sample that shows everything the rows show. */
import type { ByteOrder, Piece } from '../frames/bits.ts';
import { thinRepeats, sampleRows, type PayloadRows } from './payload-rows.ts';
import { leavingCost, priceSpans, segment, type Segmentation } from './segment.ts';
import type { Steps } from './steps.ts';
import type { HandDecision } from './types.ts';

export type OrderBits = Readonly<Record<ByteOrder, number>>;
export const UNBIASED: OrderBits = { little: 0, big: 0 };

export interface DivideOptions {
  readonly decisions: readonly HandDecision[];
  readonly orderBits: OrderBits;
}

/** Rows that the division into spans is decided on. */
const SPAN_ROWS = 1600;

/** free: [bytes] bits to be divided; usable: those and the still bits that a span may run over. Bits are for all rows. */
export function* divide(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
): Steps<Segmentation> {
  yield rows.count;
  const thinned = thinRepeats(rows, free);
  const sample = sampleRows(thinned, SPAN_ROWS);
  const refused: Piece[] = options.decisions.filter((d) => d.kind === 'refused').map((d) => d.placement);
  const candidates = yield* priceSpans(sample, free, usable);
  const leaveBits = leavingCost(sample.joined.reduce((pairs, joined) => pairs + joined, 0));
  const { spans, bits } = segment(rows.bytes, candidates, { free, orderBits: options.orderBits, refused, leaveBits });
  return { spans, bits: (bits * thinned.count) / Math.max(1, sample.count) };
}
