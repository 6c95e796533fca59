/**
 * Selectors: a field whose value decides what other bits mean. Knowing it makes the rest cheaper to write down on frames that
 * the structure was not learnt on, in several bytes and by a wide margin, more than its own turns cost. A counter in a
 * frame that is not paged makes nothing cheaper but a tag that depends on it. A page may hold a selector of its own.
 */
import type { Piece } from '../frames/bits.ts';
import { both, claim, leftBy, pieceOver } from './mask.ts';
import { plainBits, rowsBefore } from './page-gain.ts';
import { turnsOf } from './page-turns.ts';
import { blocksOf, chainRows, movedMask, type PayloadRows } from './payload-rows.ts';
import { COUNTING_VALUES, selectorCandidates, isPageContent, type CounterBits } from './selector-candidates.ts';
import { best, bestWithin } from './selector-best.ts';
import { gridInstead } from './selector-grid.ts';
import { atFirstPlace, isRun, overlaps, splitCodes, type Judged, type Named } from './selector-choice.ts';
import { rowsByPage, type Condition, type SelectorFinding } from './selector-finding.ts';
import type { RivalsAsked } from './selector-prices.ts';
import { cheapest } from './selector-rivals.ts';
import { judge, judgeByWindows, lookAt, readSmall, type Candidate, type Trial } from './selector-weigh.ts';
import { wholeCode } from './selector-whole.ts';
import type { Steps } from './steps.ts';

/** Values without a list must tell this share of everything; within a page, where there is less to see, this share. */
const UNLISTED_SHARE = 0.15;
const UNLISTED_SHARE_WITHIN = 0.4;
/** Of those the best at a first look are weighed. */
const UNLISTED_WEIGHED = 24;

/** asked: how rivals are priced; null within a page, where there is too little to see. */
function* findOne(
  rows: PayloadRows,
  open: Uint8Array,
  counters: readonly CounterBits[],
  isGuarded: boolean,
  asked: RivalsAsked | null,
): Steps<Judged | null> {
  const within = asked === null;
  const plain = Float64Array.from(open, (mask, byte) => (mask === 0 ? 0 : plainBits(rows, byte, mask)));
  const all = plain.reduce((sum, bits) => sum + bits, 0);
  const unlistedShare = within ? UNLISTED_SHARE_WITHIN : UNLISTED_SHARE;
  const trial: Trial = { rows, open, counters, plain, all, unlistedShare, within, isGuarded };
  const looked: Candidate[] = [];
  for (const piece of selectorCandidates(rows.bytes, open, counters)) {
    const candidate = lookAt(trial, piece);
    if (candidate) looked.push(candidate);
    yield rows.count;
  }
  const judged: Judged[] = [];
  const listed = looked.filter(({ turns }) => turns.listed);
  const others = looked.filter(({ turns }) => !turns.listed).sort((a, b) => b.fewer - a.fewer);
  for (const candidate of [...listed, ...others.slice(0, UNLISTED_WEIGHED)]) {
    const own = judge(trial, candidate);
    if (own) judged.push(own);
    yield rows.count * rows.bytes;
  }
  for (const candidate of judged.length > 0 ? [] : listed) {
    const own = judgeByWindows(trial, candidate);
    if (own) judged.push(own);
    yield rows.count * rows.bytes;
  }
  const first = judged.length === 0 ? null : within ? bestWithin(judged, counters) : best(judged, counters);
  if (!asked) return first && wholeCode(first, looked);
  const chosen = first && (yield* cheapest(trial, judged, looked, first, asked));
  const found = yield* gridInstead(trial, listed, chosen, asked);
  return found && !found.beside ? wholeCode(found, looked) : found;
}

/** Without the rows at the start on which no open bit moves: nothing is said yet. */
function withoutStart(rows: PayloadRows, open: Uint8Array): PayloadRows {
  const { bytes, data, count } = rows;
  let row = 1;
  const still = (): boolean =>
    open.every((mask, byte) => (((data[row * bytes + byte] as number) ^ (data[byte] as number)) & mask) === 0);
  while (row < count && still()) row++;
  if (row < STANDSTILL_MIN || row === count) return rows;
  return { ...rows, count: count - row, data: data.subarray(row * bytes), joined: rows.joined.subarray(row) };
}
const STANDSTILL_MIN = 4;

/** Rows on which candidates are compared, in blocks spread over the capture. */
const SELECTOR_ROWS = 3200;
const SELECTOR_BLOCKS = 4;
/** Rows that a page must have to be looked at for a selector of its own. */
const NESTED_ROWS_MIN = 48;

function* findWithin(rows: PayloadRows, open: Uint8Array, top: Piece, value: number): Steps<SelectorFinding | null> {
  const own = rowsByPage(readSmall(rows, top)).get(value) ?? [];
  if (own.length < NESTED_ROWS_MIN) return null;
  const page = blocksOf(withoutStart(chainRows(rows, own), open), SELECTOR_ROWS, SELECTOR_BLOCKS);
  const left = both(movedMask(page), open);
  claim(left, top);
  const inner = yield* findOne(page, left, [], false, null);
  return (
    inner && findingOf(inner, [{ place: { lsb: top.lsb, length: top.length, order: top.order }, values: [value] }])
  );
}

function findingOf({ pages: _, beside: __, ...judged }: Judged, on: readonly Condition[]): SelectorFinding {
  return { ...judged, on };
}

/** Two numbers that name the page together: the second stands on all pages of the first. */
function bothOf(outer: Judged, inner: NonNullable<Judged['beside']>): SelectorFinding[] {
  const place: Piece = { lsb: outer.lsb, length: outer.length, order: outer.order };
  return [findingOf(outer, []), findingOf({ ...outer, ...inner }, [{ place, values: outer.values }])];
}

/** The outer selector, then those within its pages; `known` is one of them that its own codes show. */
function* withInner(
  rows: PayloadRows,
  open: Uint8Array,
  outer: Judged,
  known: SelectorFinding | null,
): Steps<SelectorFinding[]> {
  const found: SelectorFinding[] = [findingOf(outer, [])];
  for (const value of outer.values) {
    const isKnown = known?.on[0]?.values[0] === value;
    const inner = isKnown ? known : yield* findWithin(rows, open, outer, value);
    if (inner) found.push(inner);
  }
  return found;
}

/**
 * The selector of the rows, and behind it those that its pages hold; none where nothing is paged. open: [bytes] bits that
 * may be paged or hold a selector (they move, no checksum holds them). isGuarded: whether the rule of its checksum is known.
 */
export function* findSelectors(
  rows: PayloadRows,
  open: Uint8Array,
  counters: readonly CounterBits[],
  isGuarded: boolean,
  asked: RivalsAsked,
): Steps<SelectorFinding[]> {
  const seen = withoutStart(rows, open);
  const beside = open.slice();
  for (const counter of counters) if (counter.max - counter.min + 1 >= COUNTING_VALUES) claim(beside, counter);
  const sample = blocksOf(seen, SELECTOR_ROWS, SELECTOR_BLOCKS);
  const best = yield* findOne(sample, both(open, movedMask(sample)), counters, isGuarded, asked);
  if (!best) return [];
  if (best.beside) return bothOf(best, best.beside);
  const whole = wholeNumber(sample, best, counters);
  const split = splitCodes(whole);
  const parts = split && atFirstPlace(split, wholeBytes(sample, open, split.outer.lsb.byte));
  const left = withoutCounters(seen, beside, counters, parts?.outer ?? whole);
  if (!parts) return yield* withInner(seen, left, whole, null);
  const { outer, inner, value } = parts;
  const isApart = outer.lsb.byte * 8 + outer.lsb.bit + outer.length < inner.lsb.byte * 8 + inner.lsb.bit;
  const isNested =
    !whole.inTurn || isApart || (outer.values.length > 2 && (yield* findWithin(seen, left, outer, value)) !== null);
  if (!isNested) return yield* withInner(seen, left, whole, null);
  const place: Piece = { lsb: outer.lsb, length: outer.length, order: outer.order };
  return yield* withInner(seen, left, outer, findingOf(inner, [{ place, values: [value] }]));
}

/**
 * The number whose upper bits were found, as where pages next to each other are of one layout: what runs through so many values
 * beside a counter counts nothing but pages.
 */
function wholeNumber(rows: PayloadRows, found: Judged, counters: readonly CounterBits[]): Judged {
  const beside = counters.filter((each) => !overlaps(each, found));
  if (!found.inTurn || !beside.some(({ min, max }) => max - min + 1 >= COUNTING_VALUES)) return found;
  for (let bit = 0; bit < found.lsb.bit; bit++) {
    const length = found.length + found.lsb.bit - bit;
    const piece: Piece = { lsb: { byte: found.lsb.byte, bit }, length, order: found.order };
    if (beside.some((each) => overlaps(each, piece))) continue;
    const pages = readSmall(rows, piece);
    const turns = turnsOf(pages);
    if (turns?.inTurn && isRun(turns.values) && turns.values.length > found.values.length)
      return { ...found, ...piece, pages, values: turns.values };
  }
  return found;
}

/** What moves of each byte before one. */
function* wholeBytes(rows: PayloadRows, open: Uint8Array, end: number): Iterable<Named> {
  const moved = both(open, movedMask(rows));
  for (let byte = 0; byte < end; byte++) {
    const mask = moved[byte] as number;
    if (mask === 0) continue;
    const piece = pieceOver(byte, mask);
    yield { piece, pages: readSmall(rows, piece) };
  }
}

/** Without the counters that go on from page to page: a page within a page is told by none of them. */
function withoutCounters(
  rows: PayloadRows,
  open: Uint8Array,
  counters: readonly CounterBits[],
  outer: Piece,
): Uint8Array {
  const before = rowsBefore(readSmall(rows, outer));
  return leftBy(
    open,
    counters.filter((counter) => !overlaps(counter, outer) && !isPageContent(rows, counter, before)),
  );
}
