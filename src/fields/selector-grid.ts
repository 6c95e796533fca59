/**
 * Grids of pages: two numbers in bytes of their own name a page together, each value of the one with each of the other, such as a module and a
 * group of its cells. Neither tells all pages apart, so that content that differs from page to page looks the better selector; and each by itself
 * may save nothing at all, as of cells that are near each other only the pair knows which it is.
 */
import { crossesByte, type Piece } from '../frames/bits.ts';
import { gainOverWindows } from './page-windows.ts';
import { byteGain, rowsBefore } from './page-gain.ts';
import { turnBits } from './page-turn-bits.ts';
import { turnsOf } from './page-turns.ts';
import { both, claim } from './mask.ts';
import { blocksOf, movedMask } from './payload-rows.ts';
import { COUNTING_VALUES } from './selector-candidates.ts';
import { countsUp, follows, start, type Judged } from './selector-choice.ts';
import { pagesKey } from './selector-finding.ts';
import { AS_CHEAP, CHEAPER, type RivalsAsked } from './selector-prices.ts';
import { bitsBy, BLOCKS, ROWS } from './selector-rivals.ts';
import { readSmall, samePiece, type Candidate, type Trial } from './selector-weigh.ts';
import type { Steps } from './steps.ts';

/** Values of each number at most: pairs are told by one byte. */
const VALUES_MAX = 16;
/** Bits that a grid saves at least over the rows that it is tested on, and bytes or windows that it saves in where one may be a tag. */
const GAIN_MIN = 75;
const BYTE_GAIN_MIN = 25;
const PLACES_MIN = 2;

export interface Grid {
  readonly outer: Candidate;
  readonly inner: Candidate;
  /** [rows] both numbers as one. */
  readonly pages: Uint8Array;
}

/** [rows] both numbers as one: the place of the one's value among its values, and of the other's. */
export function pairsOf(outers: Uint8Array, inners: Uint8Array): Uint8Array {
  const codes = (values: Uint8Array): Uint8Array => {
    const found = new Uint8Array(256);
    [...new Set(values)].sort((a, b) => a - b).forEach((value, code) => (found[value] = code));
    return found;
  };
  const [ofOuter, ofInner] = [codes(outers), codes(inners)];
  return outers.map(
    (value, row) => VALUES_MAX * (ofOuter[value] as number) + (ofInner[inners[row] as number] as number),
  );
}

/** One candidate for each way to tell rows apart: the first in the payload, and there the longest. Counters that go on whatever the page are none. */
function onePerPages(looked: readonly Candidate[], { counters, isGuarded }: Trial): Candidate[] {
  const found = new Map<string, Candidate>();
  const counts = ({ piece, turns: { values } }: Candidate): boolean =>
    !isGuarded && values.length >= COUNTING_VALUES && counters.some((counter) => samePiece(counter, piece));
  const likely = looked.filter(
    (each) => each.turns.listed && each.turns.values.length <= VALUES_MAX && !crossesByte(each.piece) && !counts(each),
  );
  for (const each of likely.sort((a, b) => a.piece.lsb.byte - b.piece.lsb.byte || b.piece.length - a.piece.length)) {
    const key = pagesKey(each.pages.subarray(0, KEY_ROWS));
    if (!found.has(key)) found.set(key, each);
  }
  return [...found.values()];
}
const KEY_ROWS = 2000;

/** Of the changes of the one number, the share at which the other changes at most: it waits for that to come round. */
const WAITS_SHARE = 0.6;

const changesOf = (values: Uint8Array): number =>
  values.reduce((sum, value, row) => sum + Number(row > 0 && value !== values[row - 1]), 0);

/** Whether one number waits for the other to come round, as digits of one count do; a counter beside the pages waits for nothing. */
function waits(one: Uint8Array, other: Uint8Array): boolean {
  const changes = [changesOf(one), changesOf(other)];
  return Math.min(...changes) <= WAITS_SHARE * Math.max(...changes);
}

/** All pairs of candidates whose values all come together, in turn. */
function* gridsOf(trial: Trial, looked: readonly Candidate[]): Iterable<Grid> {
  const likely = onePerPages(looked, trial);
  for (const outer of likely)
    for (const inner of likely) {
      if (inner.piece.lsb.byte <= outer.piece.lsb.byte) continue;
      const pairs = outer.turns.values.length * inner.turns.values.length;
      const pages = pairsOf(outer.pages, inner.pages);
      if (new Set(pages).size < pairs) continue;
      if (waits(outer.pages, inner.pages) && turnsOf(pages)?.inTurn) yield { outer, inner, pages };
    }
}

interface Saved {
  /** Bits, by what each page held last or by its usual step, whichever saves more in each byte; and by either alone. */
  readonly most: number;
  readonly byPage: number;
  readonly byStep: number;
}

/** Bits that open bytes, or windows where cells lie in no byte whole, save by knowing the pages. beside: what holds none of their content. */
function savedBy({ rows, open, isGuarded }: Trial, pages: Uint8Array, beside: readonly Piece[]): Saved {
  const before = rowsBefore(pages);
  const left = both(open, movedMask(rows));
  for (const piece of beside) claim(left, piece);
  let [most, byPage, byStep, places] = [0, 0, 0, 0];
  left.forEach((mask, byte) => {
    if (mask === 0) return;
    const gain = byteGain(rows, byte, mask, pages, before);
    const own = Math.max(gain.byPage, gain.byOffset);
    if (own < BYTE_GAIN_MIN) return;
    places++;
    most += own;
    byPage += Math.max(0, gain.byPage);
    byStep += Math.max(0, gain.byOffset);
  });
  const needed = isGuarded ? 1 : PLACES_MIN;
  if (places >= needed) return { most, byPage, byStep };
  const inWindows = gainOverWindows(rows, left, pages, beside, needed);
  return { most: inWindows, byPage: 0, byStep: inWindows };
}

/** What holds no content of the pages of a grid: its numbers, and the counters that go on whatever the page. */
const besideGrid = ({ counters }: Trial, { outer, inner }: Grid): Piece[] => [
  outer.piece,
  inner.piece,
  ...counters.filter(({ min, max }) => max - min + 1 >= COUNTING_VALUES),
];

interface Gain {
  readonly gain: number;
  readonly saved: number;
  /** Whether each page's usual step tells as much as what it held last, as of values that rise and fall together. */
  readonly isList: boolean;
}

/** Bits that reading by both numbers saves, their turns paid for; null where too few bytes or windows save any. */
function gainOf(trial: Trial, grid: Grid): Gain | null {
  const { outer, inner, pages } = grid;
  const { most, byPage, byStep } = savedBy(trial, pages, besideGrid(trial, grid));
  const known = [outer, inner].reduce((sum, { piece }) => sum + (trial.plain[piece.lsb.byte] as number), 0);
  const gain = most - Math.max(0, turnBits(pages, new Set(pages).size) - known);
  return gain < GAIN_MIN ? null : { gain, saved: Math.min(1, most / trial.all), isList: byStep >= byPage };
}

/** The grid that saves most; null where none saves enough. */
function bestGrid(trial: Trial, looked: readonly Candidate[]): { grid: Grid; gain: Gain } | null {
  let found: { grid: Grid; gain: Gain } | null = null;
  for (const grid of gridsOf(trial, looked)) {
    const gain = gainOf(trial, grid);
    if (gain && gain.gain > (found?.gain.gain ?? 0)) found = { grid, gain };
  }
  return found;
}

/** Whether the chosen one lies behind both numbers, so that it is what pages hold where it tells no more than they do. */
const isBehind = (chosen: Judged, { inner }: Grid): boolean => start(chosen) >= start(inner.piece) + inner.piece.length;

/** Share by which a grid must save more than a chosen one that tells fewer pages apart. */
const MORE_SHARE = 1.1;

/**
 * Whether the grid tells the chosen one's pages further apart and saves clearly more, byte by byte, on frames that it was not learnt on. Of cells
 * that are near each other what spans cost on pages hardly shows which cell it is.
 */
function knowsMore(trial: Trial, grid: Grid, chosen: Judged): boolean {
  if (!follows(chosen, { ...chosen, pages: grid.pages })) return false;
  const beside = [...besideGrid(trial, grid), chosen];
  const [more, fewer] = [grid.pages, chosen.pages].map((pages) => savedBy(trial, pages, beside).most) as [
    number,
    number,
  ];
  return more >= MORE_SHARE * fewer + GAIN_MIN;
}

/**
 * Whether the chosen one is but the ends of both numbers, which meet at the border of two bytes: a number over it would count up (common
 * practice, no source).
 */
function isGrid(grid: Grid, chosen: Judged): boolean {
  const pages: Judged = { ...chosen, pages: grid.pages };
  return crossesByte(chosen) && !countsUp(chosen) && follows(chosen, pages) && follows(pages, chosen);
}

/** Whether the payload takes fewer bits by the grid than by the chosen one. */
function* isCheaper(trial: Trial, grid: Grid, chosen: Judged, asked: RivalsAsked): Steps<boolean> {
  const rows = blocksOf(trial.rows, ROWS, BLOCKS);
  const selectors = [grid.outer.piece, grid.inner.piece];
  const [outers, inners] = selectors.map((piece) => readSmall(rows, piece)) as [Uint8Array, Uint8Array];
  const bits = yield* bitsBy(trial, rows, { selectors, pages: grid.pages, priced: pairsOf(outers, inners) }, asked);
  const alone = { selectors: [chosen], pages: chosen.pages, priced: readSmall(rows, chosen) };
  const bitsNow = yield* bitsBy(trial, rows, alone, asked);
  return bits <= (isBehind(chosen, grid) ? (1 + AS_CHEAP) * bitsNow : (1 - CHEAPER.share) * bitsNow - CHEAPER.bits);
}

/**
 * The outer number of a grid, with the inner one beside it, where the payload takes fewer bits by both than by the chosen one; else the chosen one.
 * looked: all that may number pages; chosen: null where none does by itself.
 */
export function* gridInstead(
  trial: Trial,
  looked: readonly Candidate[],
  chosen: Judged | null,
  asked: RivalsAsked,
): Steps<Judged | null> {
  const found = bestGrid(trial, looked);
  yield trial.rows.count * trial.rows.bytes;
  if (!found) return chosen;
  const { grid, gain } = found;
  if (
    chosen &&
    !isGrid(grid, chosen) &&
    !knowsMore(trial, grid, chosen) &&
    !(yield* isCheaper(trial, grid, chosen, asked))
  )
    return chosen;
  const { piece, pages, turns } = grid.outer;
  const { values, listed, inTurn } = turns;
  const beside = {
    ...grid.inner.piece,
    values: grid.inner.turns.values,
    listed: grid.inner.turns.listed,
    inTurn: grid.inner.turns.inTurn,
  };
  return { ...piece, pages, values, listed, inTurn, ...gain, beside };
}
