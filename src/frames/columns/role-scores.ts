/**
 * How well a column fits each role, by its facts: 0 where it cannot be that. Scores are compared only
 * within one role. A heading helps; cells that do not fit outweigh it.
 */
import type { ColumnFacts } from './facts.ts';
import { plainId } from './id-text.ts';
import type { PayloadPlace } from './payload-columns.ts';
import { DLC_BYTES } from '../reading/hex.ts';
import type { TimeForm } from './plan.ts';
import { plainHeading } from './words.ts';
import { guessStepForm, guessTimeForm, type TimeFormGuess } from './time-form.ts';

/** A date with a time of day, compact ones included. */
const holdsTime = (cell: string): boolean => /:|^\d{8}[T_ -]\d/i.test(cell);

export const ALMOST_ALL = 0.95;
export const MOSTLY = 0.9;

export function timeScore(each: ColumnFacts): number {
  const { meaning } = each;
  if (meaning !== null && meaning !== 'time' && meaning !== 'date' && meaning !== 'delta') return 0;
  // A heading that says time is believed over some bad rows.
  const enough = meaning === 'time' ? 0.5 : MOSTLY;
  if (each.filled < enough) return 0;
  const named = meaning === 'time' ? 3 : meaning === 'delta' ? -4 : 0;
  // The finer of two stamps is the better one.
  const variety = (4 * each.distinct) / each.rows;
  const early = 1 / (1 + each.column);
  if (each.date > enough) return each.cells.some(holdsTime) ? 5 + named + variety + early : 0;
  if (each.timeOfDay > enough) return 4.5 + named + variety + early;
  if (each.number < enough) return 0;
  if (each.rising < 0.5 || (each.rising < MOSTLY && meaning !== 'time')) return 0;
  const isCounter = each.counting > ALMOST_ALL;
  if (meaning === null && (isCounter || each.distinct < Math.min(each.rows, 20) / 4)) return 0;
  const score = 2 + named + variety + early + (each.whole < 0.5 ? 1 : 0) - (isCounter ? 4 : 0);
  return Math.max(score, 0);
}

/**
 * Small numbers that are never negative and do not rise may each count from the row before. Asked only
 * where no column holds stamps that rise.
 */
export function stepScore(each: ColumnFacts): number {
  const isNamed = each.meaning === 'time' || each.meaning === 'delta';
  // A cycle is the step of one identifier, not of the recording.
  if (/cycle|zyklus|interval|period/i.test(each.heading)) return 0;
  if ((each.meaning !== null && !isNamed) || each.number < MOSTLY || each.filled < MOSTLY) return 0;
  if (each.least < 0 || (each.meaning !== 'delta' && each.distinct < Math.min(each.rows, 20) / 4)) return 0;
  const hasDecimals = each.whole < 0.5;
  return isNamed ? 2 : hasDecimals && each.rising > 0.2 && each.rising < 0.8 ? 1 : 0;
}

export function timeFormOf(each: ColumnFacts, dated: ColumnFacts | undefined): TimeFormGuess {
  if (each.date >= 0.5) return { ...dateFormOf(each), headingSaid: null };
  if (each.timeOfDay >= 0.5 && dated) return { ...dateFormOf(dated), headingSaid: null };
  if (each.timeOfDay >= 0.5) return { form: 'time-of-day', words: 'times of day without a date', headingSaid: null };
  // Stamps that fall every third row or so are no clock.
  const areSteps = (each.rising < 0.8 || each.meaning === 'delta') && each.least >= 0;
  return areSteps ? guessStepForm(each.heading, each.cells) : guessTimeForm(each.heading, each.cells);
}

function dateFormOf(each: ColumnFacts): { form: TimeForm; words: string } {
  const firsts = each.cells
    .map((cell) => /^(\d{1,2})([./-])(\d{1,2})[./-]\d{4}/.exec(cell))
    .filter((parts) => parts !== null);
  if (firsts.length === 0) return { form: 'date', words: 'date and time, year first' };
  if (firsts.some((parts) => Number(parts[1]) > 12))
    return { form: 'date-day-first', words: 'date and time, day first' };
  if (firsts.some((parts) => Number(parts[3]) > 12)) return { form: 'date', words: 'date and time, month first' };
  const isDotted = firsts[0]?.[2] !== '/';
  return isDotted
    ? { form: 'date-day-first', words: 'date and time, taken as day first, as is usual with dots' }
    : { form: 'date', words: 'date and time, taken as month first, as is usual with slashes' };
}

export function idScore(each: ColumnFacts): number {
  const { meaning } = each;
  if (each.id < 0.5 || (each.id < MOSTLY && meaning !== 'id')) return 0;
  if (meaning !== null && meaning !== 'id' && meaning !== 'data') return 0;
  const named = meaning === 'id' ? 5 : 0;
  const usualDigits =
    each.cells.filter((cell) => plainId(cell).replace(/^0x/i, '').length >= 3).length > each.rows / 2 ? 1.5 : 0;
  const variety = each.distinct >= 2 && each.distinct <= Math.max(2, each.rows / 2) ? 1 : 0;
  const looksHex = (each.hexLetters > 0 ? 1.5 : 0) + (each.hexPrefix > 0.5 ? 2 : 0);
  const tooSmall = each.greatest <= 16 && each.hexLetters === 0 ? -2 : 0;
  const isCounter = each.counting > 0.9 ? -3 : 0;
  const score = 0.5 + named + usualDigits + variety + looksHex + tooSmall + isCounter;
  return each.flagWords === 1 && named === 0 ? 0 : Math.max(0, score);
}

export function lengthScore(each: ColumnFacts, payload: PayloadPlace): number {
  if (each.meaning !== null && each.meaning !== 'length') return 0;
  const said = each.cells.map((cell) =>
    /^\d{1,2}$/.test(cell) ? Number(cell) : /^(0x[0-9a-f]{1,2}|[a-f])$/i.test(cell) ? parseInt(cell, 16) : Number.NaN,
  );
  const numbers = said.filter((value) => value >= 0 && value <= 64).length;
  // A heading that says length is believed over some bad rows.
  if (numbers < each.rows * (each.meaning === 'length' ? 0.5 : MOSTLY)) return 0;
  const equal =
    said.filter((value, row) => value === payload.lengths[row] || DLC_BYTES[value] === payload.lengths[row]).length /
    each.rows;
  if (each.meaning === 'length') return 5 + equal;
  const padded = said.filter((value, row) => value <= (payload.lengths[row] as number)).length / each.rows;
  return equal >= ALMOST_ALL
    ? 1 + equal
    : each.distinct > 1 && padded >= ALMOST_ALL && equal > 0.3 && each.greatest === 8
      ? 0.5
      : 0;
}

export const dateScore = (each: ColumnFacts): number =>
  each.date > MOSTLY &&
  (each.meaning === null || each.meaning === 'date' || each.meaning === 'time') &&
  !each.cells.some(holdsTime)
    ? 1
    : 0;

export function directionScore(each: ColumnFacts): number {
  if (each.meaning === 'direction') return each.directionWords > 0.5 ? 5 : 0;
  if (each.meaning !== null && each.meaning !== 'kind') return 0;
  const isBareT = each.distinct === 1 && /^t$/i.test(each.cells[0] ?? '');
  return each.directionWords > ALMOST_ALL && !isBareT && each.filled > 0.5 ? 1 : 0;
}

export function extendedScore(each: ColumnFacts): number {
  const speaks = each.cells.some((cell) =>
    /^(std|ext|xtd|standard|extended|s|x|eff|sff|29|11|extended frame|standard frame)$/i.test(cell),
  );
  if (each.meaning === 'extended') return each.flagWords > MOSTLY ? 5 : 0;
  if (each.meaning !== null && each.meaning !== 'kind') return 0;
  return speaks && each.flagWords > ALMOST_ALL ? 1 : 0;
}

export function kindScore(each: ColumnFacts): number {
  if (each.meaning !== null && each.meaning !== 'kind') return 0;
  if (each.kindWords < ALMOST_ALL) return 0;
  return each.meaning === 'kind'
    ? 3
    : each.cells.some((cell) => /^(r|rtr|remote|err|error|d|data)/i.test(cell))
      ? 0.5
      : 0;
}

export const flagScore = (each: ColumnFacts, meaning: 'fd' | 'brs' | 'esi' | 'remote'): number =>
  each.meaning === meaning && each.flagWords > MOSTLY ? 1 : 0;

/** A heading that says what its flags mean: "tx", "is_rx". */
export const sentFlagScore = (each: ColumnFacts, words: RegExp): number =>
  words.test(plainHeading(each.heading)) && each.flagWords > MOSTLY ? 6 : 0;

const BUS_NAME = /^(v?x?s?l?can|bus|chn?|channel|kanal|port|hs|ls|ms|net)[-_ ]?[\w-]*$/i;

export function busScore(each: ColumnFacts, idColumn: number): number {
  if (each.distinct > 40 || each.filled < 0.5) return 0;
  if (each.meaning === 'bus') return 5;
  if (each.meaning !== null) return 0;
  const named = each.cells.filter((cell) => BUS_NAME.test(cell)).length;
  if (named > each.rows * MOSTLY) return 3;
  const isSmall = each.whole === 1 && each.least >= 0 && each.greatest <= 32 && each.distinct <= 8;
  const isFlag = each.least === 0 && each.greatest <= 1;
  return isSmall && each.column < idColumn && !(isFlag && each.distinct === 1) ? 1 / (1 + idColumn - each.column) : 0;
}
