/** The selector among all spans that tell enough: what is sent in turn first, then what saves most, a counter and a mere part giving way. */
import { crossesByte } from '../frames/bits.ts';
import { COUNTING_VALUES, type CounterBits } from './selector-candidates.ts';
import { coarserThan, encloses, firstAlike, overlaps, splitCodes, type Judged } from './selector-choice.ts';
import { countedPages, numberOf, pagesInTurn } from './selector-in-turn.ts';
import { samePiece } from './selector-weigh.ts';

/** Of candidates about as good the one with fewest values is taken. */
const AS_GOOD = 0.95;
/** A counter that pages happen to go in step with, or a tag goes by, gives way to what tells this much. */
const BESIDE_COUNTER = 0.8;
/** One that goes through a list and saves this much goes before those that do not. */
const LISTED_AS_GOOD = 0.8;

/** Bits that a longer list saves more than a part of it, where it names pages that the part takes for one. */
const MORE_PAGES_GAIN = 75;

/** Share of what it saves that one which goes on into the next byte saves more: what stands there tells of the pages within a page. */
const MORE_OVER_BORDER = 1.05;

/** The list that a chosen one is a part of, where it saves more. */
const finerPart = (good: readonly Judged[], chosen: Judged): Judged =>
  good
    .filter(
      (each) =>
        each.listed &&
        encloses(each, chosen) &&
        each.gain >= chosen.gain + MORE_PAGES_GAIN &&
        (!crossesByte(each) || each.gain >= MORE_OVER_BORDER * chosen.gain),
    )
    .reduce((a, b) => (b.gain > a.gain ? b : a), chosen);

/** The best of the candidates. */
export function best(judged: readonly Judged[], counters: readonly CounterBits[]): Judged {
  const counts = (each: Judged): boolean =>
    each.values.length >= COUNTING_VALUES && counters.some((counter) => samePiece(counter, each));
  const uncounted = judged.filter((each) => !counts(each));
  const counted = judged.filter(counts);
  const named = pagesInTurn(uncounted, judged, counters);
  const inTurn = named ? (numberOf(named, counted) ?? named) : countedPages(counted, uncounted);
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
  const alike = firstAlike(judged, finerPart(good, first));
  const coarser = splitCodes(alike) ? null : coarserThan(alike, judged);
  return coarser ? firstAlike(judged, coarser) : alike;
}

/** What a page within a page saves by what stands first, of what the best saves: content tells the same, and more by chance. */
const FRONT_GAIN = 0.7;

/** Those in the first byte that a list stands in, as an index stands before what it is of (common practice, no source); all where there is none. */
function inFront(judged: readonly Judged[]): readonly Judged[] {
  const top = Math.max(...judged.map(({ gain }) => gain));
  const listed = judged.filter((each) => each.listed && each.gain >= FRONT_GAIN * top);
  const first = Math.min(...listed.map(({ lsb }) => lsb.byte));
  return listed.length === 0 ? judged : listed.filter(({ lsb }) => lsb.byte === first);
}

/** The best of the candidates for an index on one page of another selector. */
export const bestWithin = (judged: readonly Judged[], counters: readonly CounterBits[]): Judged =>
  best(inFront(judged), counters);
