/** Divides the free bits of rows into spans, on a bounded sample that shows everything the rows show. */
import type { ByteOrder, Piece } from '../frames/bits.ts';
import { withCarries } from './carries.ts';
import { withFinerPrices } from './finer-prices.ts';
import { leavingFilled } from './filled-cost.ts';
import type { Filled } from './fillings.ts';
import { thinRepeats, sampleRows, type PayloadRows } from './payload-rows.ts';
import { priceSpans } from './price-spans.ts';
import { leavingCost, segment, type Segmentation, type SegmentOptions } from './segment.ts';
import type { Candidate } from './span-candidate.ts';
import type { Steps } from './steps.ts';
import type { HandDecision, Watch } from './types.ts';

export type OrderBits = Readonly<Record<ByteOrder, number>>;
export const UNBIASED: OrderBits = { little: 0, big: 0 };

export interface DivideOptions {
  readonly decisions: readonly HandDecision[];
  readonly orderBits: OrderBits;
  readonly watch?: Watch;
}

/** Rows that the division into spans is decided on. */
export const SPAN_ROWS = 1600;

/** Bits to leave a moving bit of these rows unexplained. */
export const leaveBitsOf = ({ joined }: PayloadRows): number =>
  leavingCost(joined.reduce((pairs, each) => pairs + each, 0));

/** Most frames keep to one order of bytes: in a frame of the other, a value over several bytes costs so many bits more. */
export const OTHER_ORDER_BITS = 4;

/** The options with the order of bytes held dear in which the whole payload would be dearer. */
export function inOneOrder(bytes: number, candidates: readonly Candidate[], options: SegmentOptions): SegmentOptions {
  const [little, big] = (['big', 'little'] as const).map((other): SegmentOptions => {
    const { orderBits } = options;
    return { ...options, orderBits: { ...orderBits, [other]: orderBits[other] + OTHER_ORDER_BITS } };
  }) as [SegmentOptions, SegmentOptions];
  const bitsOf = (each: SegmentOptions): number => segment(bytes, candidates, { ...each, unjudged: true }).bits;
  return bitsOf(little) <= bitsOf(big) ? little : big;
}

/** Spans that a person refused. */
export const refusedBy = ({ decisions }: Pick<DivideOptions, 'decisions'>): Piece[] =>
  decisions.filter(({ kind }) => kind === 'refused').map(({ placement }) => placement);

/** Every span that these rows may hold, with its price, neighbours looked at closely. */
export function* candidatesOf(
  rows: PayloadRows,
  usable: Uint8Array,
  wanted: SegmentOptions,
  filled: Filled | null = null,
): Steps<readonly Candidate[]> {
  const candidates = withCarries(rows, yield* priceSpans(rows, wanted.free, usable, filled), wanted);
  return yield* withFinerPrices(rows, candidates, wanted);
}

/** As `divide`, on just these rows, most crossing spans in one order. leaveBits: as `segment` takes them. */
export function* divideThese(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
  leaveBits: SegmentOptions['leaveBits'] = leaveBitsOf(rows),
  filled: Filled | null = null,
): Steps<Segmentation> {
  const wanted = { free, orderBits: options.orderBits, refused: refusedBy(options), leaveBits };
  const candidates = yield* candidatesOf(rows, usable, wanted, filled);
  return segment(rows.bytes, candidates, inOneOrder(rows.bytes, candidates, wanted));
}

/**
 * free: [bytes] bits to be divided; usable: those and the still bits that a span may run over; filled: of rows without fillings, what these
 * moved besides. Bits are for all rows.
 */
export function* divide(
  rows: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
  filled: Filled | null = null,
): Steps<Segmentation> {
  yield rows.count;
  const thinned = thinRepeats(rows, free);
  const sample = sampleRows(thinned, SPAN_ROWS);
  const leaveBits = filled ? leavingFilled(filled, leaveBitsOf(sample)) : leaveBitsOf(sample);
  const { spans, bits } = yield* divideThese(sample, free, usable, options, leaveBits, filled);
  return { spans, bits: (bits * thinned.count) / Math.max(1, sample.count) };
}
