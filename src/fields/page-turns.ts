/**
 * How the values of a would-be selector take turns. A state that holds for long is no page; a list that is gone through again
 * and again speaks for pages, though pages sent by need take no such turns. What the turns themselves cost to write down,
 * learnt on the first half of the rows and charged on the second, is part of what a selector costs.
 */
import { holdsForIndex } from './page-holds.ts';

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
  /** Whether each has its one follower and all come all the time, as the numbers of pages that are sent in turn. */
  readonly inTurn: boolean;
}

interface Visits {
  readonly changes: number;
  /** [256] times that each value was come to. */
  readonly visits: Uint32Array;
  /** Distinct values, ascending. */
  readonly distinct: readonly number[];
}

export function countVisits(values: Uint8Array): Visits {
  const visits = new Uint32Array(256);
  let changes = 0;
  let last = -1;
  for (let row = 0; row < values.length; row++) {
    const value = values[row] as number;
    if (value === last) continue;
    visits[value]!++;
    changes++;
    last = value;
  }
  const distinct: number[] = [];
  visits.forEach((times, value) => times > 0 && distinct.push(value));
  return { changes: Math.max(0, changes - 1), visits, distinct };
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

/** By value, how often the one that usually comes next came next, and how often any did. */
function usualFollowers({ follows }: Tally): ReadonlyMap<number, { usual: number; all: number }> {
  const found = new Map<number, { usual: number; all: number }>();
  for (const [key, times] of follows) {
    const { usual, all } = found.get(key >> 8) ?? { usual: 0, all: 0 };
    found.set(key >> 8, { usual: Math.max(usual, times), all: all + times });
  }
  return found;
}

function isListed(tally: Tally): boolean {
  const { changes, holds } = tally;
  if (Math.max(...holds.values()) < REGULAR_MIN * changes) return false;
  let asUsual = 0;
  for (const { usual } of usualFollowers(tally).values()) asUsual += usual;
  return asUsual >= LISTED_MIN * changes;
}

/** Share of a value's followers that are the usual one: lost frames pass a page over now and then, but after the last page come by turns those of a page that has pages of its own. */
const ONE_FOLLOWER = 0.75;

const eachHasOneFollower = (tally: Tally): boolean =>
  [...usualFollowers(tally).values()].every(({ usual, all }) => usual >= ONE_FOLLOWER * all);

/** Stretches of the rows in each of which all values come; states of a vehicle come for a while. */
const STRETCHES = 8;

function comeAlways(values: Uint8Array, distinct: number): boolean {
  for (let stretch = 0; stretch < STRETCHES; stretch++) {
    const [from, to] = [stretch, stretch + 1].map((at) => Math.floor((at * values.length) / STRETCHES));
    if (new Set(values.subarray(from, to)).size < distinct) return false;
  }
  return true;
}

/** Values that come in turn all come within so many visits for each, also where one of them comes between any two others; and how often at least. */
const VISITS_EACH = 2;
const TOGETHER_SHARE = 0.6;

/** Whether all values come within a round: a page number with a state beside it shows the half of its values for a while, then the others. */
function comeTogether(values: Uint8Array, distinct: number): boolean {
  const visits = values.filter((value, row) => row === 0 || value !== values[row - 1]);
  const round = VISITS_EACH * distinct;
  let [rounds, whole] = [0, 0];
  for (let from = 0; from + round <= visits.length; from += distinct, rounds++)
    if (new Set(visits.subarray(from, from + round)).size === distinct) whole++;
  return rounds > 0 && whole >= TOGETHER_SHARE * rounds;
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

/** Whether the rows from `from` on equal those that came `round` rows before, or up to `SLIP` rows more. */
function cameBefore(values: Uint8Array, from: number, round: number): boolean {
  for (let lag = round; lag <= round + SLIP; lag++) {
    let odd = 0;
    for (let row = from; row < from + WINDOW; row++) if (values[row] !== values[row - lag] && ++odd > WINDOW_ODD) break;
    if (odd <= WINDOW_ODD) return true;
  }
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
    const first = windows.findIndex((from) => from >= round + SLIP);
    const judged = first < 0 ? 0 : windows.length - first;
    if (judged < WINDOWS_MIN) continue;
    const needed = Math.max(WINDOWS_MIN, AGAIN_SHARE * judged);
    let again = 0;
    for (let index = first; index < windows.length && again + windows.length - index >= needed; index++)
      if (cameBefore(values, windows[index] as number, round)) again++;
    if (again >= needed) return true;
  }
  return false;
}

/** A value that came less often is a filling at the start, or an accident. */
const COMES_MIN = 3;

/** Whether the lowest and the highest bit that moved do so without the values that hardly ever came. */
function endsMoveOften({ visits, distinct }: Visits): boolean {
  const bitsOf = (least: number): number => {
    let [and, or] = [0xff, 0];
    for (const value of distinct) if ((visits[value] as number) >= least) [and, or] = [and & value, or | value];
    return or & ~and;
  };
  const [often, all] = [bitsOf(COMES_MIN), bitsOf(1)];
  return Math.clz32(often) === Math.clz32(all) && (often & -often) === (all & -all);
}

/** Null where the values can be no pages: too few or too many of them, or held for long. */
export function turnsOf(values: Uint8Array): Turns | null {
  const visited = countVisits(values);
  const { changes, distinct } = visited;
  if (distinct.length < 2 || distinct.length > VALUES_MAX || changes < VISITS_MIN * distinct.length) return null;
  if (!endsMoveOften(visited)) return null;
  const isHeld = changes * HELD_MAX < values.length;
  const tally = tallyChanges(values);
  if (isHeld && !(holdsForIndex(values) && eachHasOneFollower(tally))) return null;
  const follows = isHeld || isListed(tally);
  return {
    values: distinct,
    listed: follows || comesRound(values, distinct.length),
    inTurn:
      follows &&
      eachHasOneFollower(tally) &&
      comeAlways(values, distinct.length) &&
      comeTogether(values, distinct.length),
  };
}
