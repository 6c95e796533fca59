/**
 * What the pages of a would-be selector save that hold pages of their own. Where one kind of message has an index, its number by itself tells little of
 * that page, so that content, which tells kind and index at once, looks the better selector: number and index are priced as a pair.
 */
import type { Piece } from '../frames/bits.ts';
import { both, claim } from './mask.ts';
import { bitsWithout, worthOfPages, type PagesAsked } from './page-worth.ts';
import { turnsOf } from './page-turns.ts';
import { chainRows, movedMask, type PayloadRows } from './payload-rows.ts';
import { selectorCandidates } from './selector-candidates.ts';
import { carriesOn } from './selector-carries.ts';
import type { Judged } from './selector-choice.ts';
import { rowsByPage } from './selector-finding.ts';
import type { RivalsAsked } from './selector-prices.ts';
import { readSmall } from './selector-weigh.ts';
import type { Steps } from './steps.ts';

/** Rows that a page must have to be looked at, and values of its index at most. */
const ROWS_MIN = 48;
const VALUES_MAX = 16;

interface Index {
  readonly piece: Piece;
  readonly pages: Uint8Array;
  readonly values: number;
}

/** Places on a page that are tried, the first first. */
const PLACES_MAX = 2;

/** What takes turns by a list, in each of the first bytes that hold such bits the one of most values. open: [bytes] as in `Trial`. */
function indexesOf(page: PayloadRows, open: Uint8Array): Index[] {
  const left = both(open, movedMask(page));
  const found: Index[] = [];
  for (let byte = 0; byte < page.bytes && found.length < PLACES_MAX; byte++) {
    const mask = left.map((bits, at) => (at === byte ? bits : 0));
    let best: Index | null = null;
    for (const piece of selectorCandidates(page.bytes, mask, [])) {
      const pages = readSmall(page, piece);
      const turns = turnsOf(pages);
      if (!turns?.listed || carriesOn(page, piece, pages)) continue;
      const values = turns.values.length;
      if (values <= VALUES_MAX && values > (best?.values ?? 0)) best = { piece, pages, values };
    }
    if (best) found.push(best);
  }
  return found;
}

/** Bits that one page takes less by an index. free, usable: [bytes] bits of it that nothing else holds. */
function* savedBy(
  page: PayloadRows,
  { piece, pages }: Index,
  free: Uint8Array,
  usable: Uint8Array,
  options: RivalsAsked['options'],
): Steps<number> {
  const beside = { free: free.slice(), usable: usable.slice() };
  for (const mask of [beside.free, beside.usable]) claim(mask, piece);
  const leaves = [...rowsByPage(pages)].map(([value, rows]) => ({
    when: {},
    label: `${value}`,
    selectors: [piece],
    rows,
  }));
  const quiet = new Uint8Array(page.bytes).fill(0xff);
  const asked: PagesAsked = { rows: page, leaves, ...beside, quiet, isList: false, options };
  const { plainBits, savedBits } = yield* worthOfPages(asked);
  return (yield* bitsWithout(asked, piece)) - (plainBits - savedBits);
}

/** Bits that indexes on pages of the selector save in these rows; 0 where there are none. open, asked: as for `bitsBy`. */
export function* savedByIndexes(
  rows: PayloadRows,
  open: Uint8Array,
  outer: Judged,
  { usable, options }: RivalsAsked,
): Steps<number> {
  const left = usable.slice();
  claim(left, outer);
  const free = both(open, left);
  let saved = 0;
  for (const own of rowsByPage(readSmall(rows, outer)).values()) {
    if (own.length < ROWS_MIN) continue;
    const page = chainRows(rows, own);
    yield page.count;
    let most = 0;
    for (const index of indexesOf(page, free)) most = Math.max(most, yield* savedBy(page, index, free, left, options));
    saved += most;
  }
  return saved;
}
