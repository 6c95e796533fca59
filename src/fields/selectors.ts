/**
 * Selectors: a field whose value decides what other bits mean. Its values take turns by a list, and knowing them makes the
 * rest cheaper to write down on frames that the structure was not learnt on, in several bytes and by a wide margin. A
 * counter in a frame that is not paged makes nothing cheaper but a tag that depends on it.
 */
import type { Piece, Placement } from '../frames/bits.ts';
import { bitPositions, rawReader } from '../frames/bits.ts';
import { claim } from './mask.ts';
import { byteGain, rowsBefore, type ByteGain } from './page-gain.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { Steps } from './steps.ts';

export interface SelectorFinding extends Piece {
  /** Values seen, ascending. */
  readonly values: readonly number[];
  /** [bytes] mask of the bits whose meaning it decides. */
  readonly paged: Uint8Array;
  /** Share of the description of those bits that conditioning saves, 0..1. */
  readonly saved: number;
  /** Bits saved over the rows it was tested on. */
  readonly gain: number;
}

const VALUES_MAX = 64;
/** Each page must have come this often on average. */
const VISITS_MIN = 6;
/** Of all changes of the value so many must lead to the one that usually follows: a list that is gone through. */
const TURNS_MIN = 0.9;
/** Rows for each change of the value, at most: a state that holds for long is no page. */
const HELD_MAX = 8;

/** [rows] values of a span of at most 8 bits. */
function readSmall(rows: PayloadRows, piece: Piece): Uint8Array {
  const read = rawReader(piece);
  return Uint8Array.from({ length: rows.count }, (_, row) => read(rows.data, row * rows.bytes));
}

/** Rows from one change to the next mostly the same number: a page is sent once, or a fixed number of times. */
const REGULAR_MIN = 0.85;

interface Turns {
  changes: number;
  /** [from * 256 + to] */
  readonly follows: Map<number, number>;
  /** Rows from one change to the next. */
  readonly holds: Map<number, number>;
}

function tallyTurns(values: Uint8Array): Turns {
  const turns: Turns = { changes: 0, follows: new Map(), holds: new Map() };
  let held = 1;
  for (let row = 1; row < values.length; row++, held++) {
    if (values[row] === values[row - 1]) continue;
    const key = (values[row - 1] as number) * 256 + (values[row] as number);
    turns.follows.set(key, (turns.follows.get(key) ?? 0) + 1);
    turns.holds.set(held, (turns.holds.get(held) ?? 0) + 1);
    turns.changes++;
    held = 0;
  }
  return turns;
}

/** Distinct values, ascending, where they take turns by a list often enough; else null. */
function turnsOf(values: Uint8Array): number[] | null {
  const { changes, follows, holds } = tallyTurns(values);
  if (changes * HELD_MAX < values.length) return null;
  if (Math.max(...holds.values()) < REGULAR_MIN * changes) return null;
  const most = new Map<number, number>();
  for (const [key, times] of follows) most.set(key >> 8, Math.max(most.get(key >> 8) ?? 0, times));
  let asUsual = 0;
  for (const times of most.values()) asUsual += times;
  const distinct = [...new Set(values)].sort((a, b) => a - b);
  const few = distinct.length < 2 || distinct.length > VALUES_MAX || changes < VISITS_MIN * distinct.length;
  return few || asUsual < TURNS_MIN * changes ? null : distinct;
}

/** A counter's bits and how many values it runs through. */
export interface CounterBits extends Placement {
  readonly min: number;
  readonly max: number;
}

/** Whether two placements share some but not all of their bits. */
function cutsInto(candidate: Piece, counter: CounterBits): boolean {
  const own = bitPositions(candidate);
  const shared = bitPositions(counter).filter((at) => own.includes(at)).length;
  return shared > 0 && !(shared === counter.length && shared === candidate.length);
}

function* candidates(bytes: number, free: Uint8Array, counters: readonly CounterBits[]): Generator<Piece> {
  for (const counter of counters) if (counter.length <= 8 && counter.lsb.bit + counter.length > 8) yield counter;
  for (let byte = 0; byte < bytes; byte++) {
    const moved = free[byte] as number;
    for (let bit = 0; bit < 8; bit++) {
      if (((moved >> bit) & 1) === 0) continue;
      for (let length = 1; bit + length <= 8; length++) {
        if ((moved >> (bit + length - 1)) & 1) yield { lsb: { byte, bit }, length, order: 'little' };
      }
    }
  }
}

/**
 * Whether what counts through few values shows the same one whenever a page comes: then it is that page's content, such as
 * the number of a sensor. One that counts further goes on counting whatever the page.
 */
function isPageContent(rows: PayloadRows, counter: CounterBits, pages: Uint8Array, before: Int32Array): boolean {
  const read = rawReader(counter);
  if (counter.max - counter.min + 1 >= COUNTING_VALUES) return false;
  let same = 0;
  let all = 0;
  pages.forEach((_, row) => {
    const last = before[row] as number;
    if (last < 0) return;
    all++;
    if (read(rows.data, row * rows.bytes) === read(rows.data, last * rows.bytes)) same++;
  });
  return same >= CONTENT_SHARE * all;
}
const CONTENT_SHARE = 0.9;
const COUNTING_VALUES = 8;

/** Bits open to paging: neither the selector's own nor those of counters that go on from page to page. */
function openFor(
  rows: PayloadRows,
  open: Uint8Array,
  candidate: Piece,
  counters: readonly CounterBits[],
  pages: Uint8Array,
  before: Int32Array,
): Uint8Array {
  const left = open.slice();
  for (const counter of counters) if (!isPageContent(rows, counter, pages, before)) claim(left, counter);
  claim(left, candidate);
  return left;
}

/** Bits that a byte must save on the frames it is tested on, and the share of its description. */
const BYTE_GAIN_MIN = 25;
const BYTE_SHARE_MIN = 0.05;
/** The share where the values run through a number that no counter runs through. */
const LIST_SHARE_MIN = 0.015;
/** As above for all bytes together. */
const GAIN_MIN = 75;
const SHARE_MIN = 0.2;

interface Weighed {
  readonly byte: number;
  readonly gain: ByteGain;
  readonly saved: number;
}

function weigh(
  rows: PayloadRows,
  open: Uint8Array,
  pages: Uint8Array,
  before: Int32Array,
  shareMin: number,
): Weighed[] {
  const weighed: Weighed[] = [];
  open.forEach((mask, byte) => {
    if (mask === 0) return;
    const gain = byteGain(rows, byte, mask, pages, before);
    const best = Math.max(gain.byPage, gain.byOffset);
    const counts = best >= BYTE_GAIN_MIN && best >= shareMin * gain.plain;
    weighed.push({ byte, gain, saved: counts ? best : 0 });
  });
  return weighed;
}

/** Counters mostly run over all values of their width, or all but one (common practice, no source); lists of pages rather not. */
function runsLikeCounter(values: readonly number[]): boolean {
  const all = values.length + (values[0] === 0 ? 0 : 1);
  return (
    (values[0] as number) <= 1 && ((all & (all - 1)) === 0 || (all & (all + 1)) === 0 || all === 10 || all === 100)
  );
}

/**
 * A tag whose rule was not found depends on a counter as if it were paged: where the values run like a counter's, more
 * bytes must gain than a tag has. The selector's own byte does not count.
 */
const bytesNeeded = (values: readonly number[]): number => (values.length >= 8 && runsLikeCounter(values) ? 3 : 2);

/** Bytes between paged ones are paged too, and the one beside them where quiet and restless bytes take turns. */
function hullOf(weighed: readonly Weighed[]): { first: number; last: number } {
  const gaining = weighed.filter(({ saved }) => saved > 0).map(({ byte }) => byte);
  const [first, last] = [Math.min(...gaining), Math.max(...gaining)];
  const alternates = weighed.some(({ byte, saved }) => byte > first && byte < last && saved === 0);
  return alternates ? { first: first - 1, last: last + 1 } : { first, last };
}

function judge(
  rows: PayloadRows,
  candidate: Piece,
  allOpen: Uint8Array,
  counters: readonly CounterBits[],
): SelectorFinding | null {
  if (counters.some((counter) => cutsInto(candidate, counter))) return null;
  const pages = readSmall(rows, candidate);
  const values = turnsOf(pages);
  if (!values) return null;
  const before = rowsBefore(pages);
  const open = openFor(rows, allOpen, candidate, counters, pages, before);
  const isList = values.length > 4 && !runsLikeCounter(values);
  const shareMin = isList ? LIST_SHARE_MIN : BYTE_SHARE_MIN;
  const weighed = weigh(rows, open, pages, before, shareMin);
  const gaining = weighed.filter(({ saved }) => saved > 0);

  const gain = gaining.reduce((sum, { saved }) => sum + saved, 0);
  const all = gaining.reduce((sum, each) => sum + each.gain.plain, 0);
  const byPage = gaining.reduce((sum, each) => sum + Math.max(0, each.gain.byPage), 0);
  const enough = byPage >= SHARE_MIN * all || (values.length >= 4 && gain >= shareMin * all);
  if (gain < GAIN_MIN || !enough) return null;
  if (gaining.filter(({ byte }) => byte !== candidate.lsb.byte).length < bytesNeeded(values)) return null;
  const { first, last } = hullOf(weighed);
  const paged = open.map((bits, byte) => (byte >= first && byte <= last ? bits : 0));
  return { ...candidate, values, paged, saved: Math.min(1, gain / all), gain };
}

/** Rows on which candidates are compared. */
const SELECTOR_ROWS = 3000;
/** Of candidates about as good the one with fewest values is taken. */
const AS_GOOD = 0.6;
/**
 * What names the page again on each page, such as a sensor's number, tells as much as the selector itself; of those with
 * equally many values and this share of the gain the first in the payload is taken (common practice, no source).
 */
const TELLS_AS_MUCH = 0.3;

/**
 * The selector of the rows, or null. open: [bytes] bits that may be paged or hold a selector (they move, no
 * checksum holds them).
 */
export function* findSelector(
  rows: PayloadRows,
  open: Uint8Array,
  counters: readonly CounterBits[],
): Steps<SelectorFinding | null> {
  const count = Math.min(rows.count, SELECTOR_ROWS);
  const part: PayloadRows = { ...rows, count, data: rows.data.subarray(0, count * rows.bytes) };
  const found: SelectorFinding[] = [];
  for (const candidate of candidates(rows.bytes, open, counters)) {
    const judged = judge(part, candidate, open, counters);
    if (judged) found.push(judged);
    yield count * (judged ? rows.bytes : 1);
  }
  if (found.length === 0) return null;
  const most = Math.max(...found.map((finding) => finding.gain));
  const good = found.filter((finding) => finding.gain >= AS_GOOD * most);
  const fewest = Math.min(...good.map(({ values }) => values.length));
  const alike = found.filter(({ values, gain }) => values.length === fewest && gain >= TELLS_AS_MUCH * most);
  const rank = ({ lsb, length, values }: SelectorFinding): number =>
    (lsb.byte * 8 + lsb.bit) * 16 - (isRun(values) ? length : 0);
  return alike.sort((a, b) => rank(a) - rank(b))[0] as SelectorFinding;
}

const isRun = (values: readonly number[]): boolean =>
  (values.at(-1) as number) - (values[0] as number) === values.length - 1;

/** [rows] value of a selector. */
export function selectorValues(rows: PayloadRows, selector: Placement): Float64Array {
  const read = rawReader(selector);
  const values = new Float64Array(rows.count);
  for (let row = 0; row < rows.count; row++) values[row] = read(rows.data, row * rows.bytes);
  return values;
}
