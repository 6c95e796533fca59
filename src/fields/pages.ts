/**
 * Fields of a paged payload: each page is divided by itself and all of them by one common layout, and the cheaper way is
 * taken. Pages of like layout (cell after cell) so lend each other evidence.
 */
import { bitPositions, type Piece } from '../frames/bits.ts';
import { describeSpan, placeName } from './describe.ts';
import { divide, type DivideOptions } from './divide.ts';
import { both, hasBit } from './mask.ts';
import { besideSelectors, type Leaf } from './page-leaves.ts';
import { chainRows, countFlips, movedMask, type PayloadRows } from './payload-rows.ts';
import type { Segmentation, Span } from './segment.ts';
import type { Steps } from './steps.ts';
import type { FieldFinding } from './types.ts';

interface Page {
  readonly leaf: Leaf;
  readonly rows: PayloadRows;
  /** [bytes] bits open on this page that moved on it, and all that are open. */
  readonly free: Uint8Array;
  readonly usable: Uint8Array;
}

/** The rows of all pages one after the other; a page's first row follows on nothing. */
function pool(pages: readonly Page[], bytes: number): PayloadRows {
  const count = pages.reduce((sum, page) => sum + page.rows.count, 0);
  const data = new Uint8Array(count * bytes);
  const joined = new Uint8Array(count);
  let row = 0;
  for (const page of pages) {
    data.set(page.rows.data, row * bytes);
    joined.set(page.rows.joined, row);
    row += page.rows.count;
  }
  return { bytes, count, data, joined };
}

/** The part of a span that moved on one page, or null where nothing did. */
function trimTo(span: Span, free: Uint8Array): Span | null {
  const positions = bitPositions(span);
  const moved = positions.map((at) => hasBit(free, at));
  const low = moved.indexOf(true);
  if (low < 0) return null;
  const length = moved.lastIndexOf(true) - low + 1;
  const [first, last] = [positions[low] as number, positions[low + length - 1] as number];
  const order: Piece['order'] = first >> 3 === last >> 3 ? 'little' : span.order;
  return { ...span, lsb: { byte: first >> 3, bit: first & 7 }, length, order };
}

/**
 * [pages] spans, by the common layout or each by its own. The common layout is read page after page or frame after frame,
 * whichever is cheaper: cells of one pack differ less from each other than from themselves a round before.
 */
function* dividePages(rows: PayloadRows, pages: readonly Page[], options: DivideOptions): Steps<Span[][]> {
  const union = new Uint8Array(rows.bytes);
  for (const page of pages) page.free.forEach((bits, byte) => (union[byte] = (union[byte] as number) | bits));
  let usable: Uint8Array = new Uint8Array(rows.bytes).fill(0xff);
  for (const page of pages) usable = both(usable, page.usable);
  const pooled = yield* divide(pool(pages, rows.bytes), union, usable, options);
  const inTurn = yield* divide(rows, union, usable, options);
  const common = inTurn.bits < pooled.bits ? inTurn : pooled;
  const single: Segmentation[] = [];
  for (const page of pages) single.push(yield* divide(page.rows, page.free, page.usable, options));
  const singleBits = single.reduce((sum, each) => sum + each.bits, 0);
  if (singleBits < common.bits) return single.map((each) => [...each.spans]);
  return pages.map((page) => common.spans.flatMap((span) => trimTo(span, page.free) ?? []));
}

/** Standard deviations from a half by which the flips of a random bit may differ, and rows that a judgement takes. */
const DEVIATIONS = 4.5;
const NOISE_ROWS_MIN = 400;

/** [bytes] 0xff but for bytes of which each bit changes as often as a random one, on each page and on all together. */
function besideNoise(pages: readonly Page[], bytes: number): Uint8Array {
  const all = { pairs: 0, flips: new Float64Array(bytes * 8) };
  const mask = new Uint8Array(bytes);
  const keepUnlikely = (flips: Float64Array, pairs: number): void =>
    flips.forEach((times, at) => {
      if (Math.abs(times - pairs / 2) > (DEVIATIONS / 2) * Math.sqrt(pairs)) mask[at >> 3] = 0xff;
    });
  for (const { rows } of pages) {
    const flips = countFlips(rows);
    keepUnlikely(flips, rows.count - 1);
    flips.forEach((times, at) => (all.flips[at]! += times));
    all.pairs += rows.count - 1;
  }
  keepUnlikely(all.flips, all.pairs);
  return all.pairs < NOISE_ROWS_MIN ? mask.fill(0xff) : mask;
}

/** The fields of the pages. free, usable: [bytes] bits that no guard, outer selector or common field holds; free: those that moved. */
export function* fieldsOfPages(
  rows: PayloadRows,
  leaves: readonly Leaf[],
  free: Uint8Array,
  usable: Uint8Array,
  options: DivideOptions,
): Steps<FieldFinding[]> {
  const read = leaves.map((leaf): Page => {
    const own = chainRows(rows, leaf.rows);
    const open = besideSelectors(usable, leaf);
    return { leaf, rows: own, free: both(both(movedMask(own), free), open), usable: open };
  });
  const quiet = besideNoise(read, rows.bytes);
  const pages = read.map((page) => ({ ...page, free: both(page.free, quiet), usable: both(page.usable, quiet) }));
  const spans = yield* dividePages(rows, pages, options);
  return pages.flatMap(({ leaf, rows: own }, index) =>
    (spans[index] as Span[]).map((span) => describeSpan(span, own, `${placeName(span)}_page${leaf.label}`, leaf.when)),
  );
}
