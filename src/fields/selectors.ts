/**
 * Selectors: a field whose value decides what other bits mean. Knowing it makes the rest cheaper to write down on frames that
 * the structure was not learnt on, in several bytes and by a wide margin, more than its own turns cost. A counter in a
 * frame that is not paged makes nothing cheaper but a tag that depends on it. A page may hold a selector of its own.
 */
import type { Piece, Placement } from '../frames/bits.ts';
import { rawReader } from '../frames/bits.ts';
import { both, claim, leftBy, pieceOver } from './mask.ts';
import { byteGain, fewerFlips, plainBits, rowsBefore } from './page-gain.ts';
import { turnBits, turnsOf, type Turns } from './page-turns.ts';
import { blocksOf, chainRows, movedMask, readShort, type PayloadRows } from './payload-rows.ts';
import { carriesOn } from './selector-carries.ts';
import { COUNTING_VALUES, selectorCandidates, isPageContent, type CounterBits } from './selector-candidates.ts';
import {
  atFirstPlace,
  coarserThan,
  firstAlike,
  overlaps,
  splitCodes,
  type Judged,
  type Named,
} from './selector-choice.ts';
import { countedPages, pagesInTurn } from './selector-in-turn.ts';
import type { Steps } from './steps.ts';

export interface Condition {
  readonly place: Piece;
  readonly values: readonly number[];
}

export interface SelectorFinding extends Piece {
  /** The page of another selector that this one is on; none: it is on each frame. */
  readonly on: readonly Condition[];
  /** Values seen, ascending. */
  readonly values: readonly number[];
  /** Whether they take turns by a list. */
  readonly listed: boolean;
  /** Share of the description of the bits it decides on that conditioning saves, 0..1. */
  readonly saved: number;
  /** Bits saved over the rows it was tested on, its own turns paid for. */
  readonly gain: number;
  /** Whether it goes through a list of values that rise and fall together, each with its own offset. */
  readonly isList: boolean;
  /** Whether its pages hold nothing but text. */
  readonly holdsText?: boolean;
}

/** [rows] values of a span of at most 8 bits. */
const readSmall = (rows: PayloadRows, piece: Piece): Uint8Array => readShort(rows, piece, new Uint8Array(rows.count));

/** Bits that a byte must save on the frames it is tested on, and the share of its description. */
const BYTE_GAIN_MIN = 25;
const BYTE_SHARE_MIN = 0.05;
/** The share where the values run through a number that no counter runs through. */
const LIST_SHARE_MIN = 0.015;
/** As above for all bytes together. */
const GAIN_MIN = 75;
const SHARE_MIN = 0.2;

interface Trial {
  readonly rows: PayloadRows;
  /** [bytes] bits that may be paged or hold a selector. */
  readonly open: Uint8Array;
  readonly counters: readonly CounterBits[];
  /** [bytes] bits that the open bits of a byte take, read frame after frame. */
  readonly plain: Float64Array;
  /** Bits of all bytes together. */
  readonly all: number;
  readonly unlistedShare: number;
  /** Whether the rows are those of one page of another selector. */
  readonly within: boolean;
  /** Whether the rule of the frame's checksum is known, so that an open byte is hardly a tag. */
  readonly isGuarded: boolean;
}

/** Counters mostly run over all values of their width, or all but one (common practice, no source); lists of pages rather not. */
function runsLikeCounter(values: readonly number[]): boolean {
  const all = values.length + (values[0] === 0 ? 0 : 1);
  return (
    (values[0] as number) <= 1 && ((all & (all - 1)) === 0 || (all & (all + 1)) === 0 || all === 10 || all === 100)
  );
}

/** Whether what the values decide on may be a tag whose rule was not found, which depends on a counter as if it were paged. */
const mayBeTag = ({ isGuarded }: Trial, values: readonly number[]): boolean => !isGuarded && runsLikeCounter(values);

/** Where a tag may depend on the values, more bytes must gain than a tag has. The selector's own byte does not count. */
const bytesNeeded = (trial: Trial, values: readonly number[]): number =>
  values.length >= 8 && mayBeTag(trial, values) ? 3 : 2;

/** Bits open to paging: neither the selector's own nor those of counters that go on from page to page. */
function openFor({ rows, open, counters }: Trial, candidate: Piece, before: Int32Array): Uint8Array {
  const left = open.slice();
  for (const counter of counters) if (!isPageContent(rows, counter, before)) claim(left, counter);
  claim(left, candidate);
  return left;
}

/** What reading by page saves in all bytes, in how many it does, and what it costs to know the page. */
interface Weighed {
  gain: number;
  saved: number;
  byPage: number;
  plain: number;
  bytes: number;
  /** Bits by which gaining bytes still move from one row of a page to the next, over rows. */
  movesWithin: boolean;
}

function weigh(trial: Trial, candidate: Piece, pages: Uint8Array, { values, listed }: Turns): Weighed {
  const { rows, counters } = trial;
  const before = rowsBefore(pages);
  const open = openFor(trial, candidate, before);
  const isList = listed && values.length > LIST_VALUES && !mayBeTag(trial, values);
  const shareMin = isList ? LIST_SHARE_MIN : BYTE_SHARE_MIN;
  const weighed: Weighed = { gain: 0, saved: 0, byPage: 0, plain: 0, bytes: 0, movesWithin: false };
  open.forEach((mask, byte) => {
    const own = byte === candidate.lsb.byte;
    const gain = mask === 0 ? null : byteGain(rows, byte, mask, pages, before);
    const most = gain ? Math.max(gain.byPage, listed ? gain.byOffset : 0) : 0;
    const counts = gain !== null && most >= BYTE_GAIN_MIN && most >= shareMin * gain.plain;
    if (own) weighed.gain += (trial.plain[byte] as number) - (gain ? gain.plain : 0);
    if (!counts) return;
    weighed.gain += most;
    weighed.saved += most;
    weighed.byPage += Math.max(0, gain.byPage);
    weighed.plain += gain.plain;
    if (!own) weighed.bytes++;
    if (!own && gain.movesWithin) weighed.movesWithin = true;
  });
  const counted = values.length >= COUNTING_VALUES && counters.some((counter) => samePiece(counter, candidate));
  if (counted) weighed.gain = weighed.saved;
  else weighed.gain -= turnBits(pages, values.length);
  return weighed;
}

/** A list has more values than this. */
const LIST_VALUES = 4;
/** Beside a tag most counters run through no more values than these (common practice, no source); a longer list rather names cells. */
const COUNTER_VALUES = 16;

const samePiece = (a: Piece, b: Piece): boolean =>
  a.lsb.byte === b.lsb.byte && a.lsb.bit === b.lsb.bit && a.length === b.length;

interface Candidate {
  readonly piece: Piece;
  readonly pages: Uint8Array;
  readonly turns: Turns;
  /** Bit flips that reading page by page saves at a first look. */
  readonly fewer: number;
}

/** Values without a list say more by chance: so many of them at most (common practice, no source). */
const UNLISTED_VALUES_MAX = 16;
/** They must tell this share of everything; within a page, where there is less to see, this share. */
const UNLISTED_SHARE = 0.15;
const UNLISTED_SHARE_WITHIN = 0.4;
const SHARE_WITHIN = 0.2;
const UNLISTED_GAIN_WITHIN = 400;
/** A page is little to see of so many layouts; a lively number there runs through more values. */
const UNLISTED_VALUES_WITHIN = 8;
/** Of those the best at a first look are weighed. */
const UNLISTED_WEIGHED = 24;

/** Without a list, what lies in two bytes is rather the ends of two values that meet there: the one's carries make the other bits cheaper. */
const crosses = ({ lsb, length }: Piece): boolean => lsb.bit + length > 8;

function lookAt(trial: Trial, piece: Piece): Candidate | null {
  const pages = readSmall(trial.rows, piece);
  const turns = turnsOf(pages);
  if (!turns || carriesOn(trial.rows, piece, pages)) return null;
  if (turns.listed) return { piece, pages, turns, fewer: Infinity };
  if (turns.values.length > UNLISTED_VALUES_MAX || crosses(piece)) return null;
  const { bytes, flips } = fewerFlips(trial.rows, trial.open, piece.lsb.byte, pages);
  return bytes < 2 ? null : { piece, pages, turns, fewer: flips };
}

function judge(trial: Trial, { piece, pages, turns }: Candidate): Judged | null {
  const { values, listed, inTurn } = turns;
  const { gain, saved, byPage, plain, bytes, movesWithin } = weigh(trial, piece, pages, turns);
  if (gain < GAIN_MIN || saved < GAIN_MIN || bytes < bytesNeeded(trial, values)) return null;
  if (!listed && (!movesWithin || saved < trial.unlistedShare * trial.all)) return null;
  if (!listed && trial.within && (gain < UNLISTED_GAIN_WITHIN || values.length > UNLISTED_VALUES_WITHIN)) return null;
  if (trial.within && (!movesWithin || saved < SHARE_WITHIN * trial.all)) return null;
  const enough = byPage >= SHARE_MIN * plain || (listed && values.length >= 4 && saved >= LIST_SHARE_MIN * plain);
  const isList = listed && values.length > LIST_VALUES && (byPage < saved / 2 || values.length > COUNTER_VALUES);
  return enough ? { ...piece, values, listed, inTurn, saved: Math.min(1, saved / plain), gain, isList, pages } : null;
}

/** Of candidates about as good the one with fewest values is taken. */
const AS_GOOD = 0.95;
/** A counter that pages happen to go in step with, or a tag goes by, gives way to what tells this much. */
const BESIDE_COUNTER = 0.8;
/** One that goes through a list and saves this much goes before those that do not. */
const LISTED_AS_GOOD = 0.8;

/** The best of the candidates. */
function best(judged: readonly Judged[], counters: readonly CounterBits[]): Judged {
  const counts = (each: Judged): boolean =>
    each.values.length >= COUNTING_VALUES && counters.some((counter) => samePiece(counter, each));
  const uncounted = judged.filter((each) => !counts(each));
  const inTurn = pagesInTurn(uncounted, judged, counters) ?? countedPages(judged.filter(counts), uncounted);
  if (inTurn) {
    const apart = judged.filter((each) => !overlaps(each, inTurn));
    const outer = splitCodes(inTurn) ? null : coarserThan(inTurn, apart);
    return outer ? firstAlike(apart, outer) : inTurn;
  }
  const top = judged.reduce((a, b) => (b.gain > a.gain ? b : a));
  const others = counts(top)
    ? judged.filter((each) => !counts(each) && each.values.length < top.values.length)
    : judged;
  const near = others.filter(({ gain }) => gain >= BESIDE_COUNTER * top.gain);
  const listed = near.filter((each) => each.listed && each.gain >= LISTED_AS_GOOD * top.gain);
  const left = listed.length > 0 ? listed : near;
  const most = left.length > 0 ? Math.max(...left.map(({ gain }) => gain)) : top.gain;
  const good = (left.length > 0 ? left : [top]).filter(({ gain }) => gain >= AS_GOOD * most);
  const first = good.sort((a, b) => a.values.length - b.values.length || b.gain - a.gain)[0] as Judged;
  const alike = firstAlike(judged, first);
  const coarser = splitCodes(alike) ? null : coarserThan(alike, judged);
  return coarser ? firstAlike(judged, coarser) : alike;
}

function* findOne(
  rows: PayloadRows,
  open: Uint8Array,
  counters: readonly CounterBits[],
  within: boolean,
  isGuarded: boolean,
): Steps<Judged | null> {
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
  return judged.length === 0 ? null : best(judged, counters);
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
  const pages = readSmall(rows, top);
  const own: number[] = [];
  pages.forEach((page, row) => page === value && own.push(row));
  if (own.length < NESTED_ROWS_MIN) return null;
  const page = blocksOf(withoutStart(chainRows(rows, own), open), SELECTOR_ROWS, SELECTOR_BLOCKS);
  const left = both(movedMask(page), open);
  claim(left, top);
  const inner = yield* findOne(page, left, [], true, false);
  return (
    inner && findingOf(inner, [{ place: { lsb: top.lsb, length: top.length, order: top.order }, values: [value] }])
  );
}

function findingOf({ pages: _, inTurn: __, ...judged }: Judged, on: readonly Condition[]): SelectorFinding {
  return { ...judged, on };
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
  isGuarded = false,
): Steps<SelectorFinding[]> {
  const seen = withoutStart(rows, open);
  const beside = open.slice();
  for (const counter of counters) if (counter.max - counter.min + 1 >= COUNTING_VALUES) claim(beside, counter);
  const sample = blocksOf(seen, SELECTOR_ROWS, SELECTOR_BLOCKS);
  const whole = yield* findOne(sample, both(open, movedMask(sample)), counters, false, isGuarded);
  if (!whole) return [];
  const split = splitCodes(whole);
  const parts = split && atFirstPlace(split, wholeBytes(sample, open, split.outer.lsb.byte));
  const left = withoutCounters(seen, beside, counters, parts?.outer ?? whole);
  if (!parts) return yield* withInner(seen, left, whole, null);
  const { outer, inner, value } = parts;
  const isNested = !whole.inTurn || (yield* findWithin(seen, left, outer, value)) !== null;
  if (!isNested) return yield* withInner(seen, left, whole, null);
  const place: Piece = { lsb: outer.lsb, length: outer.length, order: outer.order };
  return yield* withInner(seen, left, outer, findingOf(inner, [{ place, values: [value] }]));
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

/** [rows] value of a selector. */
export function selectorValues(rows: PayloadRows, selector: Placement): Float64Array {
  const read = rawReader(selector);
  const values = new Float64Array(rows.count);
  for (let row = 0; row < rows.count; row++) values[row] = read(rows.data, row * rows.bytes);
  return values;
}
