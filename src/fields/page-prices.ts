/**
 * What the pages of a payload cost to write down: each by itself, those of like layout together (cell after cell), and all of them frame
 * after frame. Each bit's price on the pages is its share, by how often it moves, of the span that holds it there (minimum description
 * length, Rissanen 1978); spans are priced once, and divisions are searched among them as often as needed.
 */
import { bitPositions } from '../frames/bits.ts';
import { withCarries } from './carries.ts';
import { withFinerPrices } from './finer-prices.ts';
import { leaveBitsOf, OTHER_ORDER_BITS, refusedBy, type DivideOptions } from './divide.ts';
import { both, claim, either, hasBit, holds } from './mask.ts';
import { besideSelectors, type Leaf } from './page-leaves.ts';
import { poolPages, type PageSample } from './page-sample.ts';
import { countFlips, movedMask, type PayloadRows } from './payload-rows.ts';
import { priceSpans } from './price-spans.ts';
import { segment, type Segmentation, type SegmentOptions, type Span } from './segment.ts';
import { pieceOf, type Candidate } from './span-candidate.ts';
import type { Steps } from './steps.ts';

/** Rows with every span that may lie in them priced. */
export interface Priced {
  readonly rows: PayloadRows;
  /** [bytes] bits to be divided. */
  readonly free: Uint8Array;
  readonly candidates: readonly Candidate[];
}

export interface PricedPages {
  /** All sampled rows in order of time. */
  readonly inTurn: Priced;
  /** [leaves] */
  readonly single: readonly Priced[];
  readonly groups: readonly PageGroup[];
}

/** Leaves that are divided alike. */
export interface PageGroup {
  readonly leaves: readonly number[];
  /** Their rows one after the other; null for a leaf by itself. */
  readonly pooled: Priced | null;
  /** [bytes] bits that are open on some of them only, which are divided on each by itself. */
  readonly apart: Uint8Array;
}

export function* price(rows: PayloadRows, free: Uint8Array, usable: Uint8Array): Steps<Priced> {
  const moved = both(movedMask(rows), free);
  return { rows, free: moved, candidates: yield* priceSpans(rows, moved, usable) };
}

/** Without the spans that reach into bits that are taken. */
export function without(priced: Priced, open: Uint8Array): Priced {
  const free = both(priced.free, open);
  const candidates = priced.candidates.filter((each) => holds(open, pieceOf(each)));
  return { rows: priced.rows, free, candidates };
}

function search(
  { rows, free, candidates }: Priced,
  options: DivideOptions,
  leaveBits: SegmentOptions['leaveBits'],
  unjudged: boolean,
): Segmentation {
  const { orderBits } = options;
  return segment(rows.bytes, candidates, { free, orderBits, refused: refusedBy(options), leaveBits, unjudged });
}

/** The cheapest division, with how much each span matters. */
export const divisionOf = (
  priced: Priced,
  options: DivideOptions,
  leaveBits: SegmentOptions['leaveBits'] = leaveBitsOf(priced.rows),
): Segmentation => search(priced, options, leaveBits, false);

/** The same without saying how much each span matters: far quicker. */
export const firstDivisionOf = (
  priced: Priced,
  options: DivideOptions,
  leaveBits: SegmentOptions['leaveBits'] = leaveBitsOf(priced.rows),
): Segmentation => search(priced, options, leaveBits, true);

/** Neighbours in the cheapest division looked at closely, as outside pages. */
export function* finer(priced: Priced, options: DivideOptions): Steps<Priced> {
  const { rows, free, candidates } = priced;
  const { orderBits } = options;
  const wanted = { free, orderBits, refused: refusedBy(options), leaveBits: leaveBitsOf(rows) };
  const carried = withCarries(rows, candidates, wanted);
  return { rows, free, candidates: yield* withFinerPrices(rows, carried, wanted) };
}

/** The options with the order of bytes held dear in which all pages together would be dearer: a frame mostly keeps to one. */
export function inUsualOrder(all: readonly Priced[], common: readonly Span[], options: DivideOptions): DivideOptions {
  const crossing = common.filter((span) => new Set(bitPositions(span).map((at) => at >> 3)).size > 1);
  const [little, big] = (['big', 'little'] as const).map((other) => {
    const { orderBits } = options;
    const own: DivideOptions = {
      ...options,
      orderBits: { ...orderBits, [other]: orderBits[other] + OTHER_ORDER_BITS },
    };
    const besides = OTHER_ORDER_BITS * crossing.filter(({ order }) => order === other).length;
    return { own, bits: all.reduce((sum, each) => sum + firstDivisionOf(each, own).bits, besides) };
  }) as [{ own: DivideOptions; bits: number }, { own: DivideOptions; bits: number }];
  return little.bits <= big.bits ? little.own : big.own;
}

const placesOf = ({ spans }: Segmentation): string[] =>
  spans.map(({ lsb, length, order }) => `${lsb.byte * 8 + lsb.bit} ${length} ${order}`);

/** Of a page's spans, the share that those it goes with must have too. */
const ALIKE = 0.5;

/** Leaves whose spans are mostly in the same places. */
function groupAlike(divisions: readonly Segmentation[]): number[][] {
  const groups: { leaves: number[]; places: Set<string> }[] = [];
  divisions.forEach((division, leaf) => {
    const places = placesOf(division);
    const known = groups.find(
      (group) => places.filter((each) => group.places.has(each)).length >= ALIKE * places.length,
    );
    if (!known) return void groups.push({ leaves: [leaf], places: new Set(places) });
    known.leaves.push(leaf);
    places.forEach((each) => known.places.add(each));
  });
  return groups.map(({ leaves }) => leaves);
}

export interface PageMasks {
  /** [leaves][bytes] */
  readonly free: readonly Uint8Array[];
  readonly usable: readonly Uint8Array[];
}

function* poolOf(sample: PageSample, leaves: readonly number[], { free, usable }: PageMasks): Steps<PooledGroup> {
  const { bytes } = sample.rows;
  const of = (masks: readonly Uint8Array[]): Uint8Array[] => leaves.map((leaf) => masks[leaf] as Uint8Array);
  const open = of(usable).reduce(both);
  const common = both(of(free).reduce(either), open);
  const pooled = poolPages(
    leaves.map((leaf) => sample.pages[leaf] as PayloadRows),
    bytes,
  );
  const candidates = yield* priceSpans(pooled, common, open);
  return { leaves, pooled: { rows: pooled, free: common, candidates }, apart: open.map((bits) => ~bits) };
}

type PooledGroup = PageGroup & { readonly pooled: Priced };

/** Bits that the leaves take together. */
const bitsTogether = (
  { leaves, pooled, apart }: PooledGroup,
  single: readonly Priced[],
  options: DivideOptions,
): number =>
  leaves.reduce(
    (sum, leaf) => sum + firstDivisionOf(without(single[leaf] as Priced, apart), options).bits,
    firstDivisionOf(pooled, options).bits,
  );

const bitsOf = (all: readonly Segmentation[], leaves: readonly number[]): number =>
  leaves.reduce((sum, leaf) => sum + (all[leaf] as Segmentation).bits, 0);

/**
 * Of what pages take each by itself, so much they may take together: where each is seen a few times, saying fewer spans saves something by
 * itself. Those of a list, whose values rise and fall together, are alike to begin with.
 */
const LIKE_SHARE = 0.75;
const LIST_SHARE = 0.95;

/** All leaves as one group where that is cheapest, else those alike, else each by itself. */
function* groupPages(
  sample: PageSample,
  single: readonly Priced[],
  masks: PageMasks,
  isList: boolean,
  options: DivideOptions,
): Steps<PageGroup[]> {
  const divisions = single.map((each) => firstDivisionOf(each, options));
  const all = single.map((_, leaf) => leaf);
  const isCheaper = (group: PooledGroup): boolean =>
    bitsTogether(group, single, options) < (isList ? LIST_SHARE : LIKE_SHARE) * bitsOf(divisions, group.leaves);
  const whole = yield* poolOf(sample, all, masks);
  if (isCheaper(whole)) return [whole];
  const found: PageGroup[] = [];
  for (const leaves of groupAlike(divisions)) {
    const group = leaves.length > 1 && leaves.length < all.length ? yield* poolOf(sample, leaves, masks) : null;
    if (group && isCheaper(group)) found.push(group);
    else found.push(...leaves.map((leaf) => groupOfOne(leaf, sample.rows.bytes)));
  }
  return found;
}

export const groupOfOne = (leaf: number, bytes: number): PageGroup => ({
  leaves: [leaf],
  pooled: null,
  apart: new Uint8Array(bytes).fill(0xff),
});

/** known: leaves priced before, in all bits that may be theirs. masks: [leaves][bytes] of each page; all: [bytes] of the whole payload. */
export function* pricePages(
  sample: PageSample,
  leaves: readonly Leaf[],
  masks: PageMasks,
  all: { readonly free: Uint8Array; readonly usable: Uint8Array },
  isList: boolean,
  known: ReadonlyMap<number, Priced>,
  options: DivideOptions,
): Steps<PricedPages> {
  const [openFree, openAll] = [leaves.reduce(besideSelectors, all.free), leaves.reduce(besideSelectors, all.usable)];
  const inTurn = yield* price(sample.rows, openFree, openAll);
  const single: Priced[] = [];
  for (const [index, rows] of sample.pages.entries()) {
    const [free, usable] = [masks.free[index] as Uint8Array, masks.usable[index] as Uint8Array];
    const before = known.get(index);
    single.push(before ? without(before, usable) : yield* price(rows, free, usable));
  }
  const own = { free: single.map(({ free }) => free), usable: masks.usable };
  return { inTurn, single, groups: yield* groupPages(sample, single, own, isList, options) };
}

/** What it costs to say that a page has a span at all, as in the division of a payload. */
const SPAN_BITS = 8;

/** Adds the price of each bit of rows that are divided together. */
function addPrices(prices: Float64Array, { rows, free }: Priced, { spans }: Segmentation): void {
  const left = free.slice();
  const flips = countFlips(rows);
  for (const span of spans) {
    const moving = bitPositions(span).filter((at) => hasBit(free, at));
    const all = moving.reduce((sum, at) => sum + (flips[at] as number), 0);
    for (const at of moving)
      prices[at]! += (span.cost.bits + SPAN_BITS) * (all > 0 ? (flips[at] as number) / all : 1 / moving.length);
    claim(left, span);
  }
  const leaveBits = leaveBitsOf(rows);
  for (let at = 0; at < prices.length; at++) if (hasBit(left, at)) prices[at]! += leaveBits;
}

const pairsOf = ({ joined }: PayloadRows): number => joined.reduce((sum, each) => sum + each, 0);

/** [bytes * 8] what each bit costs on the pages, for as many rows as the sample has in order of time. */
export function pricesOnPages({ inTurn, single, groups }: PricedPages, options: DivideOptions): Float64Array {
  const prices = new Float64Array(inTurn.rows.bytes * 8);
  let pairs = 0;
  for (const { leaves, pooled, apart } of groups) {
    const own = leaves.map((leaf) => without(single[leaf] as Priced, apart));
    for (const each of pooled ? [pooled, ...own] : own) addPrices(prices, each, firstDivisionOf(each, options));
    for (const { rows } of own) pairs += pairsOf(rows);
  }
  const share = pairsOf(inTurn.rows) / Math.max(1, pairs);
  return prices.map((bits) => bits * Math.max(1, share));
}
