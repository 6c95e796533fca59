/**
 * What knowing the pages saves: the bits to write a sample of the rows down frame after frame against those page by page, where each bit has the
 * cheaper of both prices (minimum description length, Rissanen 1978).
 */
import { bitPositions, type Piece } from '../frames/bits.ts';
import { leaveBitsOf, type DivideOptions } from './divide.ts';
import { bitsIn, both, either, leftBy, maskOf } from './mask.ts';
import { joinLeaves, leavesAlike } from './page-alike.ts';
import { besideSelectors, type Leaf } from './page-leaves.ts';
import { firstDivisionOf, price, pricePages, pricesOnPages, type PageMasks, type PricedPages } from './page-prices.ts';
import { samplePages, type PageSample } from './page-sample.ts';
import { turnBits } from './page-turn-bits.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { Steps } from './steps.ts';

/** Pages to be divided. */
export interface PagesAsked {
  readonly rows: PayloadRows;
  readonly leaves: readonly Leaf[];
  /** [bytes] bits that no guard or outer selector holds; free: those that moved. */
  readonly free: Uint8Array;
  readonly usable: Uint8Array;
  /** [bytes] bits that are no noise. */
  readonly quiet: Uint8Array;
  /** Whether the pages hold values that rise and fall together, each its own. */
  readonly isList: boolean;
  readonly options: DivideOptions;
}

/** Bits to write down the sample without pages, and what pages save of them, the turns paid for. */
export interface PageWorth {
  readonly plainBits: number;
  readonly savedBits: number;
  /** Of the bits without pages those of what is noise on the pages as well. */
  readonly noiseBits: number;
}

/** Share of what it takes to leave a bit unexplained that one of noise takes on the pages. */
const NOISE_SHARE = 0.9;

/** Turns are charged on the second half of the rows, what they decide on over all of them. */
const HALVES = 2;

/** Each constant on a page is written down once, and so are the turns. */
export function savedBy(
  sample: PageSample,
  priced: PricedPages,
  prices: Float64Array,
  options: DivideOptions,
): PageWorth {
  const plainBits = firstDivisionOf(priced.inTurn, options).bits;
  const mixed = firstDivisionOf(priced.inTurn, options, prices);
  const constants = bitsIn(leftBy(priced.inTurn.free, mixed.spans));
  const turns = HALVES * turnBits(Uint8Array.from(sample.leafOf), sample.pages.length);
  const leaveBits = leaveBitsOf(sample.rows);
  const noiseBits = prices.filter((bits) => bits >= NOISE_SHARE * leaveBits).length * leaveBits;
  return { plainBits, noiseBits, savedBits: plainBits - mixed.bits - constants * sample.pages.length - turns };
}

/** [leaves][bytes] bits of each page that may be divided. beside: [bytes] those that nothing else holds. */
export const masksOf = ({ leaves, free, usable }: PagesAsked, beside: Uint8Array): PageMasks => ({
  free: leaves.map((leaf) => both(besideSelectors(free, leaf), beside)),
  usable: leaves.map((leaf) => both(besideSelectors(usable, leaf), beside)),
});

/** Which leaves are one page under several numbers; null where each is one of its own. */
export function pagesAlike({ rows, leaves, usable, quiet, isList }: PagesAsked): readonly (readonly number[])[] | null {
  const sets = isList ? [] : leavesAlike(samplePages(rows, leaves), leaves, usable, quiet);
  return sets.length < 2 || sets.length === leaves.length ? null : sets;
}

/** Without looking for lists of cells, which spans on their pages mostly make cheaper as well. */
export function* worthOfPages(asked: PagesAsked): Steps<PageWorth> {
  const sets = pagesAlike(asked);
  const leaves = sets ? sets.map((set) => joinLeaves(set, asked.leaves)) : asked.leaves;
  const { rows, free, usable, quiet, isList, options } = asked;
  const sample = samplePages(rows, leaves);
  yield rows.count;
  const masks = masksOf({ ...asked, leaves }, quiet);
  const all = { free: both(free, quiet), usable: both(usable, quiet) };
  const priced = yield* pricePages(sample, leaves, masks, all, isList, new Map(), options);
  return savedBy(sample, priced, pricesOnPages(priced, options), options);
}

/** Bits of the same rows frame after frame, where what was taken for a selector is left to the spans that may hold it. */
export function* bitsWithout(asked: PagesAsked, selector: Piece): Steps<number> {
  const own = maskOf(asked.rows.bytes, bitPositions(selector));
  const { rows } = samplePages(asked.rows, asked.leaves);
  const usable = both(either(asked.usable, own), asked.quiet);
  return firstDivisionOf(yield* price(rows, both(either(asked.free, own), asked.quiet), usable), asked.options).bits;
}
