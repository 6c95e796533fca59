/**
 * The selector among spans whose values are sent in turn, one page after the other, as the numbers of pages mostly are (common practice, no
 * source). A page's content tells its page as well, and sets of pages may hold alike, so it is not what saves most that is taken but what
 * names the most pages.
 */
import { crossesByte, type Piece } from '../frames/bits.ts';
import { encloses, follows, isRun, isSureRun, overlaps, start, type Judged } from './selector-choice.ts';

/** What page numbers must save at least, of what the best of all saves: pages of one layout save as much together, and codes of pages within pages more. */
const IN_TURN_GAIN = 0.55;

/** Whether a counter lies at an end of a span: with its other bits between two of its own, it is none but part of a number that takes turns. */
const isAtEnd = (counter: Piece, each: Piece): boolean =>
  start(counter) <= start(each) || start(counter) + counter.length >= start(each) + each.length;

/** Whether a span holds a counter and more: what it tells, the rest of it tells as well. */
const holdsCounter = (each: Judged, counters: readonly Piece[]): boolean =>
  counters.some(
    (counter) =>
      overlaps(counter, each) && isAtEnd(counter, each) && !(encloses(counter, each) && counter.length === each.length),
  );

/** Whether two name the same pages. */
const isSame = (a: Judged, b: Judged): boolean => a.values.length === b.values.length && follows(a, b);

/** What a part of the pages saves at least, of what all of them save, where they are but that part and a counter. */
const PART_GAIN = 0.95;

/**
 * What tells as much as a counter: fewer pages, with which the counter happens to go in step. In the counter's byte it may tell a little less;
 * elsewhere it comes before the counter, as a page's number does before what lies on the pages (common practice, no source).
 */
function besideCounter(listed: readonly Judged[], finest: Judged, counters: readonly Piece[]): Judged | null {
  if (!counters.some((counter) => encloses(counter, finest) && counter.length === finest.length)) return null;
  const isBeside = (each: Judged): boolean =>
    each.lsb.byte === finest.lsb.byte
      ? each.gain >= PART_GAIN * finest.gain &&
        (start(each) < start(finest) || each.values.length < finest.values.length)
      : each.gain >= finest.gain && start(each) < start(finest) && each.values.length < finest.values.length;
  const beside = listed.filter((each) => !overlaps(each, finest) && isBeside(each) && follows(each, finest));
  if (beside.length === 0) return null;
  const best = beside.reduce((a, b) => (b.gain > a.gain ? b : a));
  const alike = beside.filter((each) => each.gain >= PART_GAIN * best.gain && isSame(each, best));
  return alike.reduce((a, b) => (start(b) < start(a) ? b : a));
}

/**
 * What names the most pages, of all spans whose values are sent in turn: a page's content tells its page too, but no more of them. The first
 * in the payload of those that tell the same. judged: all candidates. Null where none goes by turns.
 */
export function pagesInTurn(
  some: readonly Judged[],
  judged: readonly Judged[],
  counters: readonly Piece[],
): Judged | null {
  const top = Math.max(...judged.map(({ gain }) => gain));
  const listed = some.filter(
    (each) => each.inTurn && !crossesByte(each) && each.gain >= IN_TURN_GAIN * top && !holdsCounter(each, counters),
  );
  if (listed.length === 0) return null;
  const most = Math.max(...listed.map(({ values }) => values.length));
  const many = listed.filter(({ values }) => values.length === most);
  const best = many.reduce((a, b) => (b.gain > a.gain ? b : a));
  const finest = many.filter((each) => each.gain >= SAME_GAIN * best.gain && follows(each, best));
  const earliest = finest.reduce((a, b) => (start(b) < start(a) ? b : a));
  const first = besideCounter(listed, earliest, counters) ?? earliest;
  const place = listed.filter(
    (each) =>
      each.values.length === first.values.length &&
      each.lsb.byte === first.lsb.byte &&
      start(each) >= start(first) &&
      start(each) < start(first) + first.length &&
      follows(each, first),
  );
  const runs = place.filter(isSureRun);
  return (runs.length > 0 ? runs : place).reduce((a, b) => (b.length > a.length ? b : a));
}

/** Of two that name the same pages, the share of the one's gain that the other must have. */
const SAME_GAIN = 0.9;

/** What else may save, of what a counter that names the pages saves. */
const BESIDE_COUNTED = 0.8;
/** What it saves itself at least, of what the best saves: codes of pages within pages save more. */
const COUNTED_GAIN = 0.7;

/**
 * What counts through as many values as counters mostly do and yet names the pages: only where no number that goes by it does so about as well. Null
 * where none does.
 */
export function countedPages(counted: readonly Judged[], others: readonly Judged[]): Judged | null {
  const top = counted.reduce<Judged | null>((a, b) => (a && a.gain >= b.gain ? a : b), null);
  if (!top?.inTurn) return null;
  const isBeside = (each: Judged): boolean =>
    each.gain >= BESIDE_COUNTED * top.gain &&
    (each.values.length < top.values.length ? follows(each, top) : each.inTurn);
  const most = Math.max(...others.map(({ gain }) => gain));
  const isApart = (each: Judged): boolean => each.listed && each.gain > top.gain && !follows(top, each);
  return others.some((each) => isBeside(each) || isApart(each)) || top.gain < COUNTED_GAIN * most ? null : top;
}

/**
 * The counter that names the same pages as what was taken for their number though that runs through values without order: content that names its page again.
 */
export function numberOf(content: Judged, counted: readonly Judged[]): Judged | null {
  if (isRun(content.values)) return null;
  const same = counted.filter(
    (each) => each.inTurn && isRun(each.values) && each.gain >= SAME_GAIN * content.gain && isSame(each, content),
  );
  return same[0] ?? null;
}
