/**
 * Which fields of a paged payload lie on all pages: those that are cheaper to write down once, frame after frame, than page
 * by page (minimum description length, Rissanen 1978). Each bit's price on the pages is its share, by how often it flips, of the span that
 * holds it there; a span read over all frames competes with the prices of its bits in one search.
 */
import { bitPositions, rawReader } from '../frames/bits.ts';
import { divideThese, leaveBitsOf, type DivideOptions } from './divide.ts';
import { both, claim, hasBit } from './mask.ts';
import { offsetGain } from './page-gain.ts';
import { besideSelectors, type Leaf } from './page-leaves.ts';
import { chainRows, countFlips, movedMask, pickRows, sampleNumbers, type PayloadRows } from './payload-rows.ts';
import type { Span } from './segment.ts';
import type { Steps } from './steps.ts';

/** Rows on which reading over all frames is held against reading page by page. */
const COMMON_ROWS = 2000;
/** What it costs to say that a page has a span at all, as in the division of a payload. */
const SPAN_BITS = 8;

/** Adds a page's price of each of its bits; the page's spans. */
function* addPrices(
  prices: Float64Array,
  page: PayloadRows,
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
): Steps<readonly Span[]> {
  const leaveBits = leaveBitsOf(page);
  const { spans } = yield* divideThese(page, free, usable, options, leaveBits);
  const left = free.slice();
  const flips = countFlips(page);
  for (const span of spans) {
    const moving = bitPositions(span).filter((at) => hasBit(free, at));
    const all = moving.reduce((sum, at) => sum + (flips[at] as number), 0);
    for (const at of moving) prices[at]! += ((span.cost.bits + SPAN_BITS) * (flips[at] as number)) / all;
    claim(left, span);
  }
  for (let at = 0; at < prices.length; at++) if (hasBit(left, at)) prices[at]! += leaveBits;
  return spans;
}

/**
 * Whether most pages on which bits of the span move hold them in spans that go on beyond it: then it is but a part of what
 * the pages hold.
 */
function isPartOnPages(span: Span, pages: readonly (readonly Span[])[]): boolean {
  const own = new Set(bitPositions(span));
  let [part, whole] = [0, 0];
  for (const spans of pages) {
    const meeting = spans.map(bitPositions).filter((positions) => positions.some((at) => own.has(at)));
    if (meeting.length === 0) continue;
    if (meeting.every((positions) => positions.every((at) => own.has(at)))) whole++;
    else part++;
  }
  return part > whole;
}

/** The spans that lie on all pages. free, usable: as for `divide`, the selectors' bits left out by leaf. */
export function* commonSpans(
  rows: PayloadRows,
  leaves: readonly Leaf[],
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
): Steps<readonly Span[]> {
  const numbered = new Int32Array(rows.count);
  leaves.forEach((leaf, index) => leaf.rows.forEach((row) => (numbered[row] = index)));
  const picked = sampleNumbers(rows, COMMON_ROWS);
  const sample = pickRows(rows, picked);
  const prices = new Float64Array(rows.bytes * 8);
  const onPages: (readonly Span[])[] = [];
  const openAll = { free: free.slice(), usable: usable.slice() };
  for (const [index, leaf] of leaves.entries()) {
    for (const selector of leaf.selectors) Object.values(openAll).forEach((mask) => claim(mask, selector));
    const own: number[] = [];
    picked.forEach((row, at) => numbered[row] === index && own.push(at));
    const page = chainRows(sample, own);
    const moved = both(movedMask(page), besideSelectors(free, leaf));
    onPages.push(yield* addPrices(prices, page, moved, besideSelectors(usable, leaf), options));
  }
  const moved = both(movedMask(sample), openAll.free);
  const { spans } = yield* divideThese(sample, moved, openAll.usable, options, prices);
  const pages = Int32Array.from(picked, (row) => numbered[row] as number);
  return spans.filter((span) => !stepsByPage(sample, span, pages) && !isPartOnPages(span, onPages));
}

/** Bits that knowing each page's usual step may save by chance, and of steps the share that is looked at as it is. */
const CHANCE_BITS = 12;
const USUAL_SHARE = 0.95;

/**
 * Whether a value's step from frame to frame depends on the page: cells of one pack are near each other, so that reading them
 * frame after frame is cheap, and yet each page has its own.
 */
function stepsByPage(sample: PayloadRows, span: Span, pages: Int32Array): boolean {
  const read = rawReader(span);
  const half = 2 ** (span.length - 1);
  const steps = new Float64Array(sample.count);
  for (let row = 1; row < sample.count; row++) {
    const step = read(sample.data, row * sample.bytes) - read(sample.data, (row - 1) * sample.bytes);
    steps[row] = step > half ? step - 2 * half : step < -half ? step + 2 * half : step;
  }
  const sizes = steps.map(Math.abs).sort();
  const most = Math.max(1, sizes[Math.floor(USUAL_SHARE * (sizes.length - 1))] as number);
  const usual = steps.map((step) => Math.max(-most, Math.min(most, step)));
  return offsetGain(usual, pages) > CHANCE_BITS;
}
