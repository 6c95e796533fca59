/**
 * What a would-be selector is worth: what it saves byte by byte to read the payload by its values, or over windows of eight bits, what its turns cost,
 * and whether that is enough in enough places, a tag being one that goes by a counter.
 */
import { crossesByte, type Piece } from '../frames/bits.ts';
import { both, claim } from './mask.ts';
import { byteGain, fewerFlips, plainBits, rowsBefore } from './page-gain.ts';
import { turnBits } from './page-turn-bits.ts';
import { turnsOf, type Turns } from './page-turns.ts';
import { gainOverWindows } from './page-windows.ts';
import { movedMask, readShort, type PayloadRows } from './payload-rows.ts';
import { COUNTING_VALUES, isPageContent, type CounterBits } from './selector-candidates.ts';
import { countsOver } from './selector-border.ts';
import { carriesOn } from './selector-carries.ts';
import { overlaps, type Judged } from './selector-choice.ts';

/** [rows] values of a span of at most 8 bits. */
export const readSmall = (rows: PayloadRows, piece: Piece): Uint8Array =>
  readShort(rows, piece, new Uint8Array(rows.count));

/** Bits that a byte must save on the frames it is tested on, and the share of its description. */
const BYTE_GAIN_MIN = 25;
const BYTE_SHARE_MIN = 0.05;
/** The share where the values run through a number that no counter runs through. */
const LIST_SHARE_MIN = 0.015;
/** As above for all bytes together. */
const GAIN_MIN = 75;
const SHARE_MIN = 0.2;

export interface Trial {
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

/** Share of the rows on which something else moved that a byte keeps its page's value at least, to be no tag: one stays the same once in 16 times at most. */
const KEPT_MIN = 0.5;
const KEPT_ROWS_MIN = 32;

/** Whether a byte keeps its value from one row of a page to the next though others move: a tag of the frame would not. */
function keepsWhileOthersMove({ rows: { bytes, data }, open }: Trial, byte: number, before: Int32Array): boolean {
  let [moved, kept] = [0, 0];
  before.forEach((same, row) => {
    if (same < 0) return;
    const differs = (each: number): boolean =>
      (((data[row * bytes + each] as number) ^ (data[same * bytes + each] as number)) & (open[each] as number)) !== 0;
    let others = false;
    for (let each = 0; each < bytes && !others; each++) others = each !== byte && differs(each);
    if (!others) return;
    moved++;
    if (!differs(byte)) kept++;
  });
  return moved >= KEPT_ROWS_MIN && kept >= KEPT_MIN * moved;
}

/**
 * Whether enough bytes gain; where the guard's rule is known no tag is left that goes by the values, and what else the selector's byte holds counts as
 * well. One byte is enough behind a list that it keeps to while others move.
 */
function isInEnough(trial: Trial, { piece, pages, turns }: Candidate, { gaining, ownGains }: Weighed): boolean {
  if (gaining.length === 0) return false;
  if (gaining.length + Number(ownGains && trial.isGuarded) >= bytesNeeded(trial, turns.values)) return true;
  if (!turns.listed || trial.within) return false;
  const before = rowsBefore(pages);
  return gaining.some((byte) => byte > piece.lsb.byte && keepsWhileOthersMove(trial, byte, before));
}

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
  /** Bytes beside its own that it saves in. */
  readonly gaining: number[];
  /** Whether other bits of the selector's own byte gain as well. */
  ownGains: boolean;
  /** Bits by which gaining bytes still move from one row of a page to the next, over rows. */
  movesWithin: boolean;
}

/**
 * Bits that the candidate's own turns cost, less what its bits cost in their byte without pages; nothing where it is a counter that is known anyhow.
 * open: [bytes] what its byte holds beside it.
 */
function turnsPrice(
  { rows, plain, counters }: Trial,
  piece: Piece,
  pages: Uint8Array,
  values: readonly number[],
  open: Uint8Array,
): number {
  if (values.length >= COUNTING_VALUES && counters.some((counter) => samePiece(counter, piece))) return 0;
  const { byte } = piece.lsb;
  const beside = open[byte] === 0 ? 0 : plainBits(rows, byte, open[byte] as number);
  return turnBits(pages, values.length) - ((plain[byte] as number) - beside);
}

function weigh(trial: Trial, candidate: Piece, pages: Uint8Array, { values, listed }: Turns): Weighed {
  const { rows } = trial;
  const before = rowsBefore(pages);
  const open = openFor(trial, candidate, before);
  const isList = listed && values.length > LIST_VALUES && !mayBeTag(trial, values);
  const shareMin = isList ? LIST_SHARE_MIN : BYTE_SHARE_MIN;
  const weighed: Weighed = {
    gain: 0,
    saved: 0,
    byPage: 0,
    plain: 0,
    gaining: [],
    ownGains: false,
    movesWithin: false,
  };
  open.forEach((mask, byte) => {
    const own = byte === candidate.lsb.byte;
    const gain = mask === 0 ? null : byteGain(rows, byte, mask, pages, before, listed);
    const most = gain ? Math.max(gain.byPage, listed ? gain.byOffset : 0) : 0;
    const counts = gain !== null && most >= BYTE_GAIN_MIN && most >= shareMin * gain.plain;
    if (!counts) return;
    weighed.saved += most;
    weighed.byPage += Math.max(0, gain.byPage);
    weighed.plain += gain.plain;
    if (own) weighed.ownGains = true;
    else weighed.gaining.push(byte);
    if (!own && gain.movesWithin) weighed.movesWithin = true;
  });
  weighed.gain = weighed.saved - turnsPrice(trial, candidate, pages, values, open);
  return weighed;
}

/** A list has more values than this. */
const LIST_VALUES = 4;
/** Beside a tag most counters run through no more values than these (common practice, no source); a longer list rather names cells. */
const COUNTER_VALUES = 16;

export const samePiece = (a: Piece, b: Piece): boolean =>
  a.lsb.byte === b.lsb.byte && a.lsb.bit === b.lsb.bit && a.length === b.length;

export interface Candidate {
  readonly piece: Piece;
  readonly pages: Uint8Array;
  readonly turns: Turns;
  /** Bit flips that reading page by page saves at a first look. */
  readonly fewer: number;
}

/** Values without a list say more by chance: so many of them at most (common practice, no source). */
const UNLISTED_VALUES_MAX = 16;
/** Within a page must be told this share of everything. */
const SHARE_WITHIN = 0.2;
const UNLISTED_GAIN_WITHIN = 400;
/** A page is little to see of so many layouts; a lively number there runs through more values. */
const UNLISTED_VALUES_WITHIN = 8;

export function lookAt(trial: Trial, piece: Piece): Candidate | null {
  const pages = readSmall(trial.rows, piece);
  const turns = turnsOf(pages);
  if (!turns || carriesOn(trial.rows, piece, pages)) return null;
  if (crossesByte(piece) && !countsOver(pages, turns.values, 8 - piece.lsb.bit)) return null;
  if (turns.listed) return { piece, pages, turns, fewer: Infinity };
  if (turns.values.length > UNLISTED_VALUES_MAX) return null;
  const { bytes, flips } = fewerFlips(trial.rows, trial.open, piece.lsb.byte, pages);
  return bytes < 2 ? null : { piece, pages, turns, fewer: flips };
}

export function judge(trial: Trial, candidate: Candidate): Judged | null {
  const { piece, pages, turns } = candidate;
  const { values, listed, inTurn } = turns;
  const weighed = weigh(trial, piece, pages, turns);
  const { gain, saved, byPage, plain, movesWithin } = weighed;
  if (gain < GAIN_MIN || saved < GAIN_MIN || !isInEnough(trial, candidate, weighed)) return null;
  if (!listed && (!movesWithin || saved < trial.unlistedShare * trial.all)) return null;
  if (!listed && trial.within && (gain < UNLISTED_GAIN_WITHIN || values.length > UNLISTED_VALUES_WITHIN)) return null;
  if (trial.within && (!movesWithin || saved < SHARE_WITHIN * trial.all)) return null;
  const enough = byPage >= SHARE_MIN * plain || (listed && values.length >= 4 && saved >= LIST_SHARE_MIN * plain);
  const isList = listed && values.length > LIST_VALUES && (byPage < saved / 2 || values.length > COUNTER_VALUES);
  return enough ? { ...piece, values, listed, inTurn, saved: Math.min(1, saved / plain), gain, isList, pages } : null;
}

/** Values of an index within a page at least. */
const INDEX_VALUES_MIN = 3;
/** Windows that must save where one may be a tag. */
const WINDOWS_MIN = 2;

/** Whether nothing that is open moves before it; beside: what goes on whatever the page. */
function isInFront({ rows, open }: Trial, { lsb }: Piece, beside: readonly Piece[]): boolean {
  const left = both(open, movedMask(rows));
  for (const piece of beside) claim(left, piece);
  return left.every((mask, byte) => mask === 0 || byte >= lsb.byte);
}

/** Share of rows on which what goes by a counter is what it mostly is beside its value. */
const IN_STEP = 0.98;

/** Whether pages can be told from a counter: then a tag, which goes by that, goes by them as well. */
function goesBy(pages: Uint8Array, { rows }: Trial, counter: CounterBits): boolean {
  if (counter.length > 8) return false;
  const usual = new Map<number, number>();
  let same = 0;
  readSmall(rows, counter as Piece).forEach((value, row) => {
    const page = pages[row] as number;
    if ((usual.get(value) ?? page) === page) same++;
    usual.set(value, page);
  });
  return same >= IN_STEP * pages.length;
}

/**
 * One whose pages hold cells that lie in no byte whole: asked only where no candidate tells anything byte by byte. What runs as counters
 * do is asked only beside another counter that it does not go by: a tag goes by it, too, and so does what is renewed each so many frames. What is not
 * sent in turn but comes round is asked where it stands first, as the upper bits of a cell tell of the others as well, and so is what has
 * few values (common practice, no source). Within a page it is an index, which is sent in turn and stands first.
 */
export function judgeByWindows(trial: Trial, { piece, pages, turns }: Candidate): Judged | null {
  const { values, listed, inTurn } = turns;
  const { rows, open, counters, all, isGuarded, within } = trial;
  const beside = counters.filter((counter) => counter.max - counter.min + 1 >= COUNTING_VALUES);
  if (crossesByte(piece)) return null;
  const isFirst = isInFront(trial, piece, beside);
  const isFew = values.length >= INDEX_VALUES_MIN && values.length <= COUNTER_VALUES;
  const isIndex = isFirst && isFew && (within ? inTurn : listed && !(inTurn && mayBeTag(trial, values)));
  if (!isIndex && (within || values.length <= LIST_VALUES || mayBeTag(trial, values))) return null;
  if (!inTurn && !(listed && isFirst)) return null;
  const apart = beside.filter((counter) => !overlaps(counter, piece));
  if (!within && runsLikeCounter(values) && (apart.length === 0 || apart.some((each) => goesBy(pages, trial, each))))
    return null;
  const needed = isGuarded && values.length > LIST_VALUES ? 1 : WINDOWS_MIN;
  const saved = gainOverWindows(rows, open, pages, [piece, ...beside], needed, isIndex);
  if (saved < GAIN_MIN) return null;
  const gain = saved - turnsPrice(trial, piece, pages, values, openFor(trial, piece, rowsBefore(pages)));
  return gain < GAIN_MIN
    ? null
    : { ...piece, values, listed, inTurn, saved: Math.min(1, saved / all), gain, isList: true, pages };
}
