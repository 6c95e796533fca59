/**
 * Which of the spans that tell pages apart is the selector. What names the page again on each page, such as a sensor's number,
 * tells as much as the selector itself: the first in the payload is taken, whole. Where codes go on into bits that
 * vary on a single page only, those are a selector within that page.
 */
import type { Piece } from '../frames/bits.ts';
import { turnsOf } from './page-turns.ts';
import type { SelectorFinding } from './selector-finding.ts';

export interface Judged extends Omit<SelectorFinding, 'on'> {
  /** [rows] its values on the rows that candidates are compared on. */
  readonly pages: Uint8Array;
  /** Whether they are sent in turn: see `Turns`. */
  readonly inTurn: boolean;
  /** A second number on all frames, where both name the page together. */
  readonly beside?: Piece & Pick<SelectorFinding, 'values' | 'listed' | 'inTurn'>;
}

/** Share of rows on which two spans that name the same page may differ: start-up fillings. */
const ODD_ROWS = 0.02;

/** Whether `coarse` can be told from `fine`. */
export function follows(coarse: Judged, fine: Judged): boolean {
  const meant = new Map<number, number>();
  let odd = 0;
  for (const [row, value] of fine.pages.entries()) {
    const other = coarse.pages[row] as number;
    if ((meant.get(value) ?? other) !== other) odd++;
    meant.set(value, other);
  }
  return odd <= ODD_ROWS * fine.pages.length;
}

export const isRun = (values: readonly number[]): boolean => {
  const step = (values[1] as number) - (values[0] as number);
  return values.every((value, index) => index === 0 || value - (values[index - 1] as number) === step);
};

export const start = ({ lsb }: Piece): number => lsb.byte * 8 + lsb.bit;
export const overlaps = (a: Piece, b: Piece): boolean =>
  start(a) < start(b) + b.length && start(b) < start(a) + a.length;

/** Of two that tell the same pages apart, the share of the one's gain that the other must have: flags that hardly ever move tell them too. */
const ALIKE_GAIN = 0.7;
/** Of two in one place, the share of the one's gain that the other must have. */
const SAME_GAIN = 0.9;

/** Values with which a run is hardly chance. */
const RUN_VALUES = 5;
/** Share of the changes of a number that counts which lead to the next value. */
const COUNTS_SHARE = 0.6;

/** Whether values go up one after the other in time, come round and begin again. */
export function countsUp({ pages, values }: Judged): boolean {
  const next = new Map(values.map((value, at) => [value, values[(at + 1) % values.length] as number]));
  let [changes, up] = [0, 0];
  pages.forEach((page, row) => {
    const last = row > 0 ? (pages[row - 1] as number) : page;
    if (page === last) return;
    changes++;
    if (next.get(last) === page) up++;
  });
  return up >= COUNTS_SHARE * changes;
}

/** Whether values are a run that no cut of other codes would be: some two bits of four codes run from 0 to 3 half the time, but seldom in order. */
export const isSureRun = (each: Judged): boolean =>
  isRun(each.values) && (each.values.length >= RUN_VALUES || each.values.length === 2 || countsUp(each));

/** The first in the payload that tells the same pages apart; of those in one place the longest whose values are surely a run, or the longest. */
export function firstAlike(judged: readonly Judged[], chosen: Judged): Judged {
  const alike = judged.filter(
    (each) =>
      each === chosen ||
      (each.values.length === chosen.values.length && each.gain >= ALIKE_GAIN * chosen.gain && follows(each, chosen)),
  );
  const first = alike.reduce((a, b) => (start(b) < start(a) ? b : a));
  const end = start(first) + Math.max(first.length, 8 - first.lsb.bit);
  const place = alike.filter(
    (each) =>
      start(each) < start(first) + first.length &&
      start(each) + each.length <= end &&
      each.gain >= SAME_GAIN * first.gain,
  );
  const runs = place.filter(isSureRun);
  return (runs.length > 0 ? runs : place).reduce((a, b) => (b.length > a.length ? b : a));
}

/** Of what the finest codes save, so much must be saved by those that they refine. */
const COARSE_GAIN = 0.25;
/** Values that what counts beside the pages runs through at least. */
const BESIDE_VALUES_MIN = 3;

/** Values that a selector within a page must have to be told from codes without order. */
const INNER_VALUES_MIN = 3;

/** By value of `outer`, the values of `fine` on that page. */
export function finerValues(
  outer: Pick<Judged, 'pages'>,
  fine: Pick<Judged, 'pages'>,
): ReadonlyMap<number, ReadonlySet<number>> {
  const found = new Map<number, Set<number>>();
  outer.pages.forEach((page, row) => {
    found.set(page, (found.get(page) ?? new Set()).add(fine.pages[row] as number));
  });
  return found;
}

export const encloses = (whole: Piece, part: Piece): boolean =>
  start(whole) <= start(part) && start(part) + part.length <= start(whole) + whole.length;

/**
 * Whether what `fine` tells beside `outer`, in one number with it, counts on each page that it tells more of: a list that goes by a counter runs
 * through the same values of it on each.
 */
function countsBeside(outer: Judged, fine: Judged, varied: readonly ReadonlySet<number>[]): boolean {
  const own = ((1 << outer.length) - 1) << (start(outer) - start(fine));
  const rests = varied.map((values) => [...values].map((value) => value & ~own).sort((a, b) => a - b));
  return rests.every((rest) => rest.length >= BESIDE_VALUES_MIN && (!fine.listed || rest.join() === rests[0]?.join()));
}

/**
 * Whether `fine` tells more than `outer` on few of its pages only, which then hold a selector of their own; or it is `outer` with bits
 * beside it that count on most pages, on which a tag depends. Codes are not cut where that makes several selectors of one: within one number
 * only a single page has its own, sent in turn or of many values.
 */
function isRefined(outer: Judged, fine: Judged): boolean {
  const varied = [...finerValues(outer, fine).values()].filter(({ size }) => size > 1);
  if (varied.length === 0) return false;
  if (!encloses(fine, outer)) return 2 * varied.length <= outer.values.length;
  if (varied.length > 1) return countsBeside(outer, fine, varied);
  return !isRun(fine.values) && (outer.inTurn || (varied[0]?.size ?? 0) >= INNER_VALUES_MIN);
}

/**
 * The selector that codes without order refine, where there is one: what names a page and the page within it, such as the letters of
 * a text, tells more than the selector itself, and so do its own bits together with a counter's.
 */
export function coarserThan(fine: Judged, judged: readonly Judged[]): Judged | null {
  const areRun = isRun(fine.values);
  if (areRun && fine.inTurn) return null;
  const coarser = judged.filter(
    (each) =>
      each.listed &&
      isRun(each.values) &&
      (!areRun || each.inTurn) &&
      each.values.length < fine.values.length &&
      each.gain >= COARSE_GAIN * fine.gain &&
      (start(each) < start(fine) || encloses(fine, each)) &&
      follows(each, fine) &&
      isRefined(each, fine),
  );
  return coarser.sort((a, b) => start(a) - start(b) || b.values.length - a.values.length)[0] ?? null;
}

/** Bits of a byte before the outer selector that name the same pages. */
export interface Named {
  readonly piece: Piece;
  /** [rows] */
  readonly pages: Uint8Array;
}

/**
 * The codes' parts with the outer selector where it first stands in the payload: codes may hold it again beside the page within the page.
 * earlier: what might name it, the first first.
 */
export function atFirstPlace(split: SplitCodes, earlier: Iterable<Named>): SplitCodes {
  const { outer, value } = split;
  for (const { piece, pages } of earlier) {
    const own: Judged = { ...outer, ...piece, pages, values: [...new Set(pages)].sort((a, b) => a - b) };
    if (own.values.length !== outer.values.length || !follows(own, outer)) continue;
    const there = (each: number): number =>
      pages.reduce((rows, page, row) => rows + Number(page === each && outer.pages[row] === value), 0);
    return { ...split, outer: own, value: own.values.reduce((a, b) => (there(b) > there(a) ? b : a)) };
  }
  return split;
}

/** The low or high bits of a span. */
function partOf(whole: Judged, low: number, length: number): Judged {
  const pages = whole.pages.map((page) => (page >> low) & ((1 << length) - 1));
  const at = whole.lsb.bit + low;
  const lsb = { byte: whole.lsb.byte + (at >> 3), bit: at & 7 };
  return { ...whole, lsb, length, pages, values: [...new Set(pages)].sort((a, b) => a - b) };
}

export interface SplitCodes {
  readonly outer: Judged;
  /** On the outer one's page of this value. */
  readonly value: number;
  readonly inner: Judged;
}

/** The part as an outer selector, where the whole tells more on one of its pages only, and there enough. */
function splitAt(whole: Judged, outer: Judged): SplitCodes | null {
  const varied = [...finerValues(outer, whole)].filter(([, { size }]) => size > 1);
  const [value, own] = varied[0] ?? [0, new Set<number>()];
  if (varied.length !== 1 || own.size < INNER_VALUES_MIN) return null;
  const some = [...own][0] as number;
  const moved = [...own].reduce((bits, code) => bits | (code ^ some), 0);
  const low = 31 - Math.clz32(moved & -moved);
  const inner = partOf(whole, low, 32 - Math.clz32(moved) - low);
  const values = [...new Set([...own].map((code) => (code >> low) & ((1 << inner.length) - 1)))].sort((a, b) => a - b);
  return isRun(values) ? { outer, value, inner: { ...inner, values } } : null;
}

/**
 * The chosen span as an outer selector and one within one of its pages, where its codes show that; null where they do not.
 * The outer one is sent in turn or comes first in the payload, and tells as much as it can (common practice, no source). Codes in a row are
 * one selector, and those of a page within a page are in a row.
 */
export function splitCodes(chosen: Judged): SplitCodes | null {
  if (isRun(chosen.values)) return null;
  const moved = chosen.pages.reduce((bits, page) => bits | (page ^ (chosen.pages[0] as number)), 0);
  const found: SplitCodes[] = [];
  for (let length = 1; length < chosen.length; length++) {
    for (const low of [0, chosen.length - length]) {
      if (((moved >> low) & (moved >> (low + length - 1)) & 1) === 0) continue;
      const split = splitAt(chosen, partOf(chosen, low, length));
      if (split && split.outer.values.length > 1) found.push(split);
    }
  }
  const inTurn = new Set(found.filter(({ outer }) => turnsOf(outer.pages)?.inTurn));
  const rank = (split: SplitCodes): number =>
    (inTurn.has(split) ? 0 : 1e6) + start(split.outer) * 1000 - split.outer.values.length * 10 - split.outer.length;
  return found.sort((a, b) => rank(a) - rank(b))[0] ?? null;
}
