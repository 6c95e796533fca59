/**
 * How the values of a would-be selector take turns. A state that holds for long is no page; a list that is gone through again
 * and again speaks for pages, though pages sent by need take no such turns. What the turns themselves cost to write down,
 * learnt on the first half of the rows and charged on the second, is part of what a selector costs.
 */
const VALUES_MAX = 64;
/** Each page must have come this often on average. */
const VISITS_MIN = 6;
/** Of all changes of the value so many lead to the one that usually follows, where a list is gone through. */
const LISTED_MIN = 0.9;
/** Rows from one change to the next are mostly the same number there: a page is sent once, or a fixed number of times. */
const REGULAR_MIN = 0.85;
/** Rows for each change of the value, at most. */
const HELD_MAX = 8;

export interface Turns {
  /** Distinct values, ascending. */
  readonly values: readonly number[];
  /** Whether they follow each other by a list, or come round after so many rows. */
  readonly listed: boolean;
}

interface Tally {
  changes: number;
  /** [from * 256 + to] */
  readonly follows: Map<number, number>;
  /** Rows from one change to the next. */
  readonly holds: Map<number, number>;
}

function tallyChanges(values: Uint8Array): Tally {
  const tally: Tally = { changes: 0, follows: new Map(), holds: new Map() };
  let held = 1;
  for (let row = 1; row < values.length; row++, held++) {
    if (values[row] === values[row - 1]) continue;
    const key = (values[row - 1] as number) * 256 + (values[row] as number);
    tally.follows.set(key, (tally.follows.get(key) ?? 0) + 1);
    tally.holds.set(held, (tally.holds.get(held) ?? 0) + 1);
    tally.changes++;
    held = 0;
  }
  return tally;
}

function isListed({ changes, follows, holds }: Tally): boolean {
  if (Math.max(...holds.values()) < REGULAR_MIN * changes) return false;
  const most = new Map<number, number>();
  for (const [key, times] of follows) most.set(key >> 8, Math.max(most.get(key >> 8) ?? 0, times));
  let asUsual = 0;
  for (const times of most.values()) asUsual += times;
  return asUsual >= LISTED_MIN * changes;
}

/** Longest round, in rows. */
const ROUND_MAX = 320;
/** Rows that are looked for a round before, and how many of them may differ; frames lost in between move them by so many rows at most. */
const WINDOW = 24;
const WINDOW_ODD = 1;
const SLIP = 20;
/** Windows that must be found again, and their share. */
const WINDOWS_MIN = 4;
const AGAIN_SHARE = 0.6;

/** Whether the rows from `from` on equal those that came `lag` rows before. */
function isAgain(values: Uint8Array, from: number, lag: number): boolean {
  let odd = 0;
  for (let row = from; row < from + WINDOW && odd <= WINDOW_ODD; row++) if (values[row] !== values[row - lag]) odd++;
  return odd <= WINDOW_ODD;
}

function cameBefore(values: Uint8Array, from: number, round: number): boolean {
  for (let slip = 0; slip <= SLIP; slip++) if (from >= round + slip && isAgain(values, from, round + slip)) return true;
  return false;
}

/** First rows of windows in which the value changes as often as it must. */
function windowsOf(values: Uint8Array): number[] {
  const found: number[] = [];
  for (let from = 0; from + WINDOW <= values.length; from += WINDOW) {
    let changes = 0;
    for (let row = from + 1; row < from + WINDOW; row++) if (values[row] !== values[row - 1]) changes++;
    if (changes * HELD_MAX >= WINDOW) found.push(from);
  }
  return found;
}

/** Whether the values come again in the same order round after round, each as often in a round as it likes. */
function comesRound(values: Uint8Array, distinct: number): boolean {
  const windows = windowsOf(values);
  for (let round = distinct; round <= Math.min(ROUND_MAX, values.length >> 2); round += SLIP + 1) {
    const judged = windows.filter((from) => from >= round + SLIP);
    const needed = Math.max(WINDOWS_MIN, AGAIN_SHARE * judged.length);
    let again = 0;
    for (const [index, from] of judged.entries()) {
      if (again + judged.length - index < needed) break;
      if (cameBefore(values, from, round)) again++;
    }
    if (judged.length >= WINDOWS_MIN && again >= needed) return true;
  }
  return false;
}

/** Bits for the second half of the values, each told what so many before it were. */
function bitsGiven(values: Uint8Array, order: number, distinct: number): number {
  const half = values.length >> 1;
  const seen = new Map<number, number>();
  let bits = 0;
  let context = 0;
  for (let row = 0; row < values.length; row++) {
    const value = values[row] as number;
    const all = seen.get(context * 257) ?? 0;
    const key = context * 257 + 1 + value;
    const times = seen.get(key) ?? 0;
    if (row >= half) bits -= Math.log2((times + 1 / distinct) / (all + 1));
    seen.set(key, times + 1);
    seen.set(context * 257, all + 1);
    context = (context * 256 + value) % 256 ** order;
  }
  return bits;
}

/** A value that came less often is a filling at the start, or an accident. */
const COMES_MIN = 3;

/** Whether the lowest and the highest bit that moved do so without the values that hardly ever came. */
function endsMoveOften(values: Uint8Array): boolean {
  const visits = new Uint32Array(256);
  values.forEach((value, row) => {
    if (row === 0 || values[row - 1] !== value) visits[value]!++;
  });
  const bitsOf = (least: number): number => {
    let [and, or] = [0xff, 0];
    visits.forEach((times, value) => {
      if (times >= least) [and, or] = [and & value, or | value];
    });
    return or & ~and;
  };
  const [often, all] = [bitsOf(COMES_MIN), bitsOf(1)];
  return Math.clz32(often) === Math.clz32(all) && (often & -often) === (all & -all);
}

/** Null where the values can be no pages: too few or too many of them, or held for long. */
export function turnsOf(values: Uint8Array): Turns | null {
  const tally = tallyChanges(values);
  if (tally.changes * HELD_MAX < values.length) return null;
  const distinct = [...new Set(values)].sort((a, b) => a - b);
  if (!endsMoveOften(values)) return null;
  if (distinct.length < 2 || distinct.length > VALUES_MAX || tally.changes < VISITS_MIN * distinct.length) return null;
  return {
    values: distinct,
    listed: isListed(tally) || comesRound(values, distinct.length),
  };
}

/** Bits to write down the second half of the values, each told the one, two or three before it, whichever is cheapest. */
export const turnBits = (values: Uint8Array, distinct: number): number =>
  Math.min(...[1, 2, 3].map((order) => bitsGiven(values, order, distinct)));
