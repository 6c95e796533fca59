/**
 * Which of the spans that tell pages apart lets the whole payload be written down in the fewest bits, under the prices that spans have on pages and
 * outside (minimum description length, Rissanen 1978). Byte by byte, what stands still on each page and moves with it looks like a
 * selector, too, and so does the sign of a value that rests near zero; priced whole, neither saves as much as the number of the pages.
 */
import { crossesByte, type Piece } from '../frames/bits.ts';
import { both, claim } from './mask.ts';
import { rowsBefore } from './page-gain.ts';
import type { Leaf } from './page-leaves.ts';
import { worthOfPages } from './page-worth.ts';
import { blocksOf, type PayloadRows } from './payload-rows.ts';
import { best } from './selector-best.ts';
import { isPageContent } from './selector-candidates.ts';
import { encloses, overlaps, start, type Judged } from './selector-choice.ts';
import { pagesKey, rowsByPage } from './selector-finding.ts';
import { headerOf, pagesOfHeader, type Header } from './selector-header.ts';
import { savedByIndexes } from './selector-index.ts';
import {
  AS_CHEAP,
  cheapestOf,
  countsBeside,
  numbersPages,
  unseats,
  type Priced,
  type RivalsAsked,
} from './selector-prices.ts';
import { readSmall, samePiece, type Candidate, type Trial } from './selector-weigh.ts';
import type { Steps } from './steps.ts';

/** Rows on which rivals are priced. */
export const ROWS = 1600;
export const BLOCKS = 4;
/**
 * Rivals that are priced: of those sent in turn and of the others those that save most byte by byte, and this share of what the best saves. Of the
 * others one a place, as the spans that hold the same bits would leave no room for what lies elsewhere; at the chosen one's, what saves most and what
 * has fewest values.
 */
const MOST_IN_TURN = 4;
const MOST_OTHERS = 1;
const GAIN_SHARE = 0.3;

/** Of a set that tells the same pages apart what numbers them, or the first in the payload; the chosen one for its own. */
function onePerPages(judged: readonly Judged[], chosen: Judged): Map<string, Judged> {
  const found = new Map([[pagesKey(chosen.pages), chosen]]);
  const rank = (each: Judged): number => (numbersPages(each) ? 0 : 1e6) + start(each) * 10 - each.length;
  for (const each of [...judged].sort((a, b) => rank(a) - rank(b))) {
    const key = pagesKey(each.pages);
    if (!found.has(key)) found.set(key, each);
  }
  return found;
}

/** What is sent in turn and tells too little byte by byte, as though it were judged. */
const asJudged = ({ piece, pages, turns }: Candidate): Judged => ({
  ...piece,
  pages,
  values: turns.values,
  listed: turns.listed,
  inTurn: turns.inTurn,
  saved: 0,
  gain: 0,
  isList: false,
});

const leavesBy = (pages: Uint8Array, selectors: readonly Piece[]): Leaf[] =>
  [...rowsByPage(pages)].map(([page, own]) => ({ when: {}, label: `${page}`, selectors, rows: own }));

/** What tells pages apart, and how all rows of the trial are read by it, and those that are priced. */
interface Told {
  readonly selectors: readonly Piece[];
  readonly pages: Uint8Array;
  readonly priced: Uint8Array;
}

/** Bits that the rows take, read by the pages of a candidate. */
export function* bitsBy(trial: Trial, rows: PayloadRows, told: Told, asked: RivalsAsked): Steps<number> {
  const { usable, options } = asked;
  const { selectors } = told;
  const taken = trial.counters.filter(
    (each) =>
      !selectors.some((piece) => overlaps(each, piece)) && !isPageContent(trial.rows, each, rowsBefore(told.pages)),
  );
  const [free, left] = [trial.open.slice(), usable.slice()];
  for (const piece of [...taken, ...selectors]) for (const mask of [free, left]) claim(mask, piece);
  const quiet = new Uint8Array(rows.bytes).fill(0xff);
  const pages = {
    rows,
    leaves: leavesBy(told.priced, selectors),
    free: both(free, left),
    usable: left,
    quiet,
    isList: false,
    options,
  };
  const { plainBits, savedBits } = yield* worthOfPages(pages);
  return plainBits - savedBits;
}

interface HeaderBefore {
  readonly header: Header;
  /** Its outer number. */
  readonly named: Candidate;
}

/** Two numbers that name the page together before the chosen one. */
function headerBefore({ rows, open }: Trial, looked: readonly Candidate[], chosen: Judged): HeaderBefore | null {
  const header = headerOf(rows, open);
  if (!header || start(chosen) < start(header.inner) + header.inner.length) return null;
  const named = looked.find(({ piece }) => samePiece(piece, header.outer));
  return named ? { header, named } : null;
}

interface Rivals {
  /** All that were judged or number pages. */
  readonly all: readonly Judged[];
  /** Those that are priced. */
  readonly priced: readonly Judged[];
  /** Of these the first in the payload that take turns, where they begin before the chosen one; with what they save goes what indexes on their pages save. */
  readonly first: readonly Judged[];
}

/** The first of each place. */
function placesApart(all: readonly Judged[]): Judged[] {
  const found: Judged[] = [];
  for (const each of all) if (!found.some((other) => overlaps(each, other))) found.push(each);
  return found;
}

/** Whether it begins before the chosen one, or where that goes on over the border of a byte. */
const isBefore = (each: Judged, chosen: Judged): boolean =>
  overlaps(each, chosen) ? encloses(each, chosen) || crossesByte(chosen) : start(each) < start(chosen);

/** Bytes that the first in the payload are looked for in. */
const FIRST_BYTES = 2;

/** In each of the first bytes that hold any, the one that saves most. */
function firstOf(judged: readonly Judged[]): Judged[] {
  const found: Judged[] = [];
  for (const each of [...judged].sort((a, b) => a.lsb.byte - b.lsb.byte || b.gain - a.gain))
    if (found.at(-1)?.lsb.byte !== each.lsb.byte) found.push(each);
  return found.slice(0, FIRST_BYTES);
}

function rivalsOf(
  { counters }: Trial,
  judged: readonly Judged[],
  looked: readonly Candidate[],
  chosen: Judged,
): Rivals {
  if (chosen.isList) return { all: judged, priced: [], first: [] };
  const unjudged = looked.filter(({ piece }) => !judged.some((each) => samePiece(each, piece))).map(asJudged);
  const all = [...judged, ...unjudged.filter((each) => each.values.length > 2 && numbersPages(each))];
  const gainMin = GAIN_SHARE * Math.max(...judged.map(({ gain }) => gain));
  const others = [...onePerPages(all, chosen).values()]
    .filter((each) => each !== chosen && (each.gain === 0 || each.gain >= gainMin))
    .sort((a, b) => b.gain - a.gain);
  const inTurn = others.filter((each) => each.inTurn).slice(0, MOST_IN_TURN);
  const uneven = others.filter((each) => !each.inTurn);
  const apartFrom = uneven.filter((each) => !overlaps(each, chosen));
  const apart = placesApart(apartFrom).slice(0, MOST_OTHERS);
  const atChosen = uneven.filter((each) => overlaps(each, chosen));
  const fewest = [...atChosen].sort((a, b) => a.values.length - b.values.length)[0];
  const counts = (each: Judged): boolean => counters.some((counter) => samePiece(counter, each));
  const before = others.filter(
    (each) => each.listed && each.gain > 0 && !crossesByte(each) && !counts(each) && isBefore(each, chosen),
  );
  const first = firstOf(before);
  const some = [...inTurn, ...apart, ...atChosen.slice(0, 1), fewest, ...first];
  return { all, priced: [...new Set(some.filter((each) => each !== undefined))], first };
}

/** The chosen one, or a rival by which the payload takes clearly fewer bits. looked: what was not judged may number the pages as well. */
export function* cheapest(
  trial: Trial,
  judged: readonly Judged[],
  looked: readonly Candidate[],
  chosen: Judged,
  asked: RivalsAsked,
): Steps<Judged> {
  const before = headerBefore(trial, looked, chosen);
  const rivals = rivalsOf(trial, judged, looked, chosen);
  if (!before && rivals.priced.length === 0) return chosen;
  const rows = blocksOf(trial.rows, ROWS, BLOCKS);
  const bitsOf = (each: Judged): Steps<number> =>
    bitsBy(trial, rows, { selectors: [each], pages: each.pages, priced: readSmall(rows, each) }, asked);
  const own: Priced = { rival: chosen, bits: yield* bitsOf(chosen) };
  if (before) {
    const { header, named } = before;
    const [pages, priced] = [trial.rows, rows].map((each) => pagesOfHeader(each, header)) as [Uint8Array, Uint8Array];
    const bits = yield* bitsBy(trial, rows, { selectors: [header.outer, header.inner], pages, priced }, asked);
    if (bits <= (1 + AS_CHEAP) * own.bits) return { ...asJudged(named), saved: chosen.saved, gain: chosen.gain };
  }
  const priced: Priced[] = [];
  for (const rival of rivals.priced) {
    const within = rivals.first.includes(rival) ? yield* savedByIndexes(rows, trial.open, rival, asked) : 0;
    priced.push({ rival, bits: (yield* bitsOf(rival)) - within });
  }
  const better = priced.filter((each) => unseats(each, own) && !countsBeside(each, own, trial.counters));
  if (better.length === 0) return chosen;
  const key = pagesKey(cheapestOf(better).pages);
  return best(
    rivals.all.filter((each) => pagesKey(each.pages) === key),
    trial.counters,
  );
}
