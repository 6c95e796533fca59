/**
 * Fields of a paged payload: each page is divided by itself and all of them by one common layout, and the cheaper way is
 * taken. Pages of like layout (cell after cell) so lend each other evidence.
 */
import { bitPositions, type Piece } from '../frames/bits.ts';
import type { When } from '../map/schema.ts';
import { describeSpan, placeName } from './describe.ts';
import { divide, type DivideOptions } from './divide.ts';
import { chainRows, movedMask, type PayloadRows } from './payload-rows.ts';
import type { Segmentation, Span } from './segment.ts';
import { selectorValues, type SelectorFinding } from './selectors.ts';
import type { Steps } from './steps.ts';
import type { FieldFinding } from './types.ts';

interface Page {
  readonly value: number;
  readonly rows: PayloadRows;
  /** [bytes] paged bits that moved on this page. */
  readonly free: Uint8Array;
}

const both = (a: Uint8Array, b: Uint8Array): Uint8Array => a.map((bits, byte) => bits & (b[byte] as number));

function splitPages(rows: PayloadRows, selector: SelectorFinding): Page[] {
  const values = selectorValues(rows, selector);
  const picked = new Map<number, number[]>();
  values.forEach((value, row) => {
    const own = picked.get(value);
    if (own) own.push(row);
    else picked.set(value, [row]);
  });
  return [...picked]
    .sort(([a], [b]) => a - b)
    .map(([value, own]) => {
      const page = chainRows(rows, own);
      return { value, rows: page, free: both(movedMask(page), selector.paged) };
    });
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
  const moved = positions.map((at) => (((free[at >> 3] as number) >> (at & 7)) & 1) === 1);
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
function* dividePages(
  rows: PayloadRows,
  pages: readonly Page[],
  usable: Uint8Array,
  options: DivideOptions,
): Steps<Span[][]> {
  const union = new Uint8Array(rows.bytes);
  for (const page of pages) page.free.forEach((bits, byte) => (union[byte] = (union[byte] as number) | bits));
  const pooled = yield* divide(pool(pages, rows.bytes), union, usable, options);
  const inTurn = yield* divide(rows, union, usable, options);
  const common = inTurn.bits < pooled.bits ? inTurn : pooled;
  const single: Segmentation[] = [];
  for (const page of pages) single.push(yield* divide(page.rows, page.free, usable, options));
  const singleBits = single.reduce((sum, each) => sum + each.bits, 0);
  if (singleBits < common.bits) return single.map((each) => [...each.spans]);
  return pages.map((page) => common.spans.flatMap((span) => trimTo(span, page.free) ?? []));
}

/** usable: [bytes] bits that no guard, selector or common field holds. */
export function* fieldsOfPages(
  rows: PayloadRows,
  selector: SelectorFinding & { readonly name: string },
  usable: Uint8Array,
  options: DivideOptions,
): Steps<FieldFinding[]> {
  const pages = splitPages(rows, selector);
  const within = both(
    usable,
    selector.paged.map((bits) => (bits === 0 ? 0 : 0xff)),
  );
  const spans = yield* dividePages(rows, pages, within, options);
  return pages.flatMap((page, index) => {
    const when: When = { [selector.name]: [page.value] };
    return (spans[index] as Span[]).map((span) =>
      describeSpan(span, page.rows, `${placeName(span)}_page${page.value}`, when),
    );
  });
}
