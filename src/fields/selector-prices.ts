/**
 * By how much cheaper the payload must be to write down by a rival for it to take the place of the chosen selector: less where it is the simpler of the two or
 * numbers the pages, more where the chosen one does.
 */
import { crossesByte } from '../frames/bits.ts';
import type { DivideOptions } from './divide.ts';
import { COUNTING_VALUES, type CounterBits } from './selector-candidates.ts';
import { encloses, follows, isRun, overlaps, start, type Judged } from './selector-choice.ts';

/** Share of the bits of the chosen one, and bits, by which a rival must be cheaper. */
export const CHEAPER = { share: 0.03, bits: 40 };
/** The same where the chosen one numbers the pages and the rival does not: a number and what lies beside it tell more than the number. */
const CHEAPER_THAN_NUMBER = { share: 0.12, bits: 100 };
/** Within this share two are equally cheap; then the number of the pages is taken. */
export const AS_CHEAP = 0.015;

/** Whether it goes through consecutive numbers in turn, as the numbers of pages mostly do (common practice, no source). */
export const numbersPages = ({ inTurn, values }: Judged): boolean =>
  inTurn && isRun(values) && (values[1] as number) - (values[0] as number) === 1;

export interface RivalsAsked {
  /** [bytes] bits that no guard holds; they need not have moved. */
  readonly usable: Uint8Array;
  readonly options: DivideOptions;
}

export interface Priced {
  readonly rival: Judged;
  readonly bits: number;
}

/** Share by which two differ at most that save the same. */
const SAME_SHARE = 0.005;

/** Whether it lies before the chosen one and numbers pages that the chosen one only tells further apart, as a counter beside them does. */
const isSimpler = (rival: Judged, chosen: Judged): boolean =>
  numbersPages(rival) &&
  start(rival) < start(chosen) &&
  !overlaps(rival, chosen) &&
  rival.values.length < chosen.values.length &&
  follows(rival, chosen);

/**
 * Whether a rival is so much cheaper that it is taken; or as cheap, and numbers more pages than a chosen one that is no number. Of two that save the
 * same the simpler is taken, of two that are no numbers the first in the payload where it is at all cheaper, and what goes on from the chosen one into the next byte is no rival. What is no number takes the
 * place of one of two pages only, and where it lies before it or is codes that one of their own bits looked like: what the pages within a page
 * save is not in these prices.
 */
export function unseats({ rival, bits }: Priced, { rival: chosen, bits: bitsNow }: Priced): boolean {
  if (crossesByte(rival) && encloses(rival, chosen)) return false;
  if (isSimpler(rival, chosen) && bits <= (1 + SAME_SHARE) * bitsNow) return true;
  const [isNumber, wasNumber] = [rival, chosen].map(numbersPages);
  const isMore = rival.values.length > chosen.values.length;
  if (isNumber && !wasNumber && isMore) return bits <= (1 + AS_CHEAP) * bitsNow;
  const isApartBefore = encloses(rival, chosen) || (start(rival) < start(chosen) && !overlaps(rival, chosen));
  if (wasNumber && !isNumber && (chosen.values.length > 2 || !isApartBefore)) return false;
  if (!wasNumber && rival.listed && start(rival) < start(chosen) && !overlaps(rival, chosen))
    return bits <= bitsNow - CHEAPER.bits;
  const least = wasNumber && !isNumber ? CHEAPER_THAN_NUMBER : CHEAPER;
  return bits <= (1 - least.share) * bitsNow - least.bits;
}

/** Of rivals the cheapest; of those about as cheap the one that numbers the most pages, then the first in the payload. */
export function cheapestOf(rivals: readonly Priced[]): Judged {
  const least = Math.min(...rivals.map(({ bits }) => bits));
  // What the pages within a page save is told on a sample of that page: so much can be taken off that less than nothing is left.
  const near = rivals.filter(({ bits }) => bits <= least + AS_CHEAP * Math.abs(least)).map(({ rival }) => rival);
  const numbers = near.filter(numbersPages);
  const most = Math.max(...numbers.map(({ values }) => values.length));
  const left = numbers.length > 0 ? numbers.filter(({ values }) => values.length === most) : near;
  return left.reduce((a, b) => (start(b) < start(a) ? b : a));
}

/** Whether a rival is a counter that tells the chosen one's pages further apart and saves nothing by it: it goes on beside them, in step. */
export const countsBeside = (
  { rival, bits }: Priced,
  { rival: chosen, bits: bitsNow }: Priced,
  counters: readonly CounterBits[],
): boolean =>
  rival.values.length >= COUNTING_VALUES &&
  counters.some((each) => encloses(each, rival) && each.length === rival.length) &&
  follows(chosen, rival) &&
  bits > (1 - CHEAPER.share) * bitsNow - CHEAPER.bits;
