/**
 * Where an answer stays behind what is asked for: a part that is held back by a limit, an interlock or a trouble of its own does less than it is asked,
 * for longer than any lag lasts, and never does more. What remains is answered in full, so that the lag is told by that alone; and being held back is a mark of
 * its own, as what only says a command again says all of it.
 */
import { quantileSorted, sorted } from '../../kit/statistics/order.ts';
import { layOut, lengthOf, middleSize, missingAt, runsShort, type Lag, type Laid } from './asked.ts';
import type { Course } from './course.ts';

/** Share of the time in which more is done than asked for. */
const BEYOND_MOST = 0.003;
/** Held at its farthest, it is at the end of its range. */
const AT_THE_END = 0.97;
/** Of the time in which something is asked for, so much must be free. */
const FREE_LEAST = 0.25;
/** It leaves what is asked for a little before that is sure, and comes back as its lag lets it where it is let go. */
const BEFORE_US = 200_000;
const AFTER_US = 300_000;
/** What is held stays, or goes by so much of what is asked for at most; most of what falls short must. */
const HELD_STILL = 0.02;
const HELD_DITHERS = 3;
const HELD_MOVES = 0.35;
const HELD_SHARE = 0.6;

export interface Shortfall {
  /** From when to when it does less, what it takes to come back included; ascending, apart. */
  readonly spans: readonly (readonly [fromUs: number, toUs: number])[];
  /** Times it did less than asked for, below its farthest, and how long in all. */
  readonly times: number;
  readonly seconds: number;
}

/** From when to when a time of falling short keeps the fit from telling the lag. */
function spanOf(laid: Laid, { lagUs, constantUs }: Lag, [from, to]: readonly [number, number]): [number, number] {
  const { done, stepUs, unsure } = laid;
  const leaves = (k: number): boolean => k >= 0 && missingAt(laid, k) > (unsure[k] as number) / 4;
  let begins = from;
  while (from - begins < BEFORE_US / stepUs && leaves(begins - 1)) begins--;
  const lets = Math.min(to + Math.ceil(lagUs / stepUs), done.length - 1);
  const isLetGo = Math.abs(done[lets] as number) > middleSize(done.subarray(from, to));
  return [begins * stepUs, to * stepUs + (isLetGo ? AFTER_US + lagUs + 2 * constantUs : 0)];
}

/** Parameters as of `layOut`. null where the answer does all of it, does more than is asked for, or is hardly ever free. */
export function shortfallOf(course: Course, answer: Course, lag: Lag, dither: number): Shortfall | null {
  const laid = layOut(course, answer, lag, dither);
  const runs = laid ? runsShort(laid, laid.lasts) : [];
  if (!laid || runs.length === 0 || laid.beyond > BEYOND_MOST) return null;
  const { asked, done, stepUs, most, unsure } = laid;
  const asking = asked.reduce((sum, want, k) => sum + Number(Math.abs(want) > (unsure[k] as number)), 0);
  if (lengthOf(runs) > (1 - FREE_LEAST) * asking) return null;
  const still = runs.filter(([from, to]) => {
    const goes = (values: Float64Array): number => spreadOver(values.subarray(from, to));
    return goes(done) <= Math.max(HELD_STILL * most + HELD_DITHERS * dither, HELD_MOVES * goes(asked));
  });
  if (lengthOf(still) < HELD_SHARE * lengthOf(runs)) return null;
  const below = still.filter(([from, to]) => middleSize(done.subarray(from, to)) < AT_THE_END * most);
  return {
    spans: joined(runs.map((run) => spanOf(laid, lag, run))),
    times: below.length,
    seconds: (lengthOf(below) * stepUs) / 1e6,
  };
}

/** From its tenth to its ninetieth hundredth. */
function spreadOver(values: Float64Array): number {
  const ascending = sorted(values.filter((value) => !Number.isNaN(value)));
  return ascending.length > 0 ? quantileSorted(ascending, 0.9) - quantileSorted(ascending, 0.1) : 0;
}

function joined(spans: readonly [number, number][]): [number, number][] {
  const out: [number, number][] = [];
  for (const [from, to] of spans) {
    const last = out.at(-1);
    if (last && from <= last[1]) last[1] = Math.max(last[1], to);
    else out.push([from, to]);
  }
  return out;
}

/** Whether an instant is outside of all spans; asked in ascending order. */
export function outside(spans: Shortfall['spans']): (atUs: number) => boolean {
  let next = 0;
  return (atUs) => {
    while (next < spans.length && (spans[next] as readonly [number, number])[1] < atUs) next++;
    return next >= spans.length || atUs < (spans[next] as readonly [number, number])[0];
  };
}
