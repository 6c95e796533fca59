/**
 * Which fields lie on several pages at once: those that are cheaper to write down frame after frame than page by page (minimum
 * description length, Rissanen 1978). A span read over all the frames competes with the prices of its bits on the pages in one search.
 */
import { bitPositions, nextBit, rawReader } from '../frames/bits.ts';
import { carryBits } from './carries.ts';
import type { DivideOptions } from './divide.ts';
import { leftBy } from './mask.ts';
import { offsetGain } from './page-offsets.ts';
import { divisionOf, without, type Priced } from './page-prices.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { Span } from './segment.ts';
import { pieceOf } from './span-candidate.ts';

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

/** Bits of evidence above which carries are hardly chance: odds of ten to one. */
const CARRY_BITS = Math.log2(10);

/** The bits of a page's span that end directly below the first of some bits; none where it ends elsewhere. */
function bitsBelow(span: Span, first: number): readonly number[] {
  const bits = bitPositions(span);
  const own = bits.indexOf(first);
  const lower = own < 0 ? bits : bits.slice(0, own);
  const top = lower.at(-1);
  return top !== undefined && (['little', 'big'] as const).some((order) => nextBit(top, 1, order) === first)
    ? lower
    : [];
}

/**
 * Whether a span steps by the carries of what the pages hold below it: then it is the top of their numbers, which may seldom move on any one page.
 * rows: [pages].
 */
function isCarriedOnPages(span: Span, rows: readonly PayloadRows[], pages: readonly (readonly Span[])[]): boolean {
  const upper = bitPositions(span);
  const evidence = pages.reduce((sum, spans, page) => {
    const lower = spans.map((each) => bitsBelow(each, upper[0] as number)).find((bits) => bits.length > 0);
    return lower ? sum + carryBits(rows[page] as PayloadRows, lower, upper) : sum;
  }, 0);
  return evidence > CARRY_BITS;
}

/** Pages, each by itself: its rows and the spans they hold. */
export interface SinglePages {
  readonly rows: readonly PayloadRows[];
  readonly spans: readonly (readonly Span[])[];
}

/**
 * The spans that lie on all pages at once.
 * inTurn: their rows in order of time; leafOf: [rows] the page of each; prices: [bytes * 8] what each bit costs on the pages.
 */
export function commonSpans(
  inTurn: Priced,
  leafOf: Int32Array,
  prices: Float64Array,
  single: SinglePages,
  options: DivideOptions,
): readonly Span[] {
  const found: Span[] = [];
  let left = inTurn;
  for (let round = 0; round < ROUNDS; round++) {
    const { spans } = divisionOf(left, options, prices);
    const isRefused = (span: Span): boolean =>
      stepsByPage(inTurn.rows, span, leafOf) ||
      isPartOnPages(span, single.spans) ||
      isCarriedOnPages(span, single.rows, single.spans);
    const refused = spans.filter(isRefused);
    const kept = spans.filter((span) => !refused.includes(span));
    found.push(...kept);
    if (refused.length === 0) break;
    const keys = new Set(refused.map((span) => bitPositions(span).join()));
    const candidates = left.candidates.filter((each) => !keys.has(bitPositions(pieceOf(each)).join()));
    left = without({ ...left, candidates }, leftBy(new Uint8Array(inTurn.rows.bytes).fill(0xff), kept));
  }
  return found;
}

/** Searches at most: what is refused is mostly found again as a part. */
const ROUNDS = 5;

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
