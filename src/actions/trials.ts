/** How regularly a change comes about behind an event, against how often such changes fall into so short a time by chance (binomial). */
import { binomialTail } from '../kit/statistics/distributions.ts';
import { median } from '../kit/statistics/order.ts';
import type { Change, Teller } from './tellers.ts';

/** A person marks about so long before or after; then the window runs to the next mark of the kind or this far. */
const BEFORE_S = 0.8;
const AFTER_S = 12;
/** Delays that differ by no more than this, or by so large a share of the delay, are one step's. */
const SPREAD_S = 0.4;
const SPREAD_SHARE = 0.35;
export interface EventTimes {
  readonly name: string;
  readonly action: string;
  readonly atS: readonly number[];
}

/** Ends of the windows: the next event of the kind, or the reach of one. */
const windowsOf = ({ atS }: EventTimes): [number, number][] =>
  atS.map((at, k) => [at - BEFORE_S, Math.min(at + AFTER_S, (atS[k + 1] ?? Infinity) - BEFORE_S)]);

export interface Trial {
  readonly teller: Teller;
  readonly from: number;
  readonly to: number;
  /** [repetitions] seconds after the event, NaN where it did not come about then. */
  readonly delayS: readonly number[];
  readonly seen: number;
  /** Repetitions in which it came about, but later than what is one step's. */
  readonly late: number;
  readonly p: number;
  /** Changes of the field, of any kind, that a window as long as this holds anywhere. */
  readonly usual: number;
}

/** As many delays as lie within one step's spread of each other, one a repetition. */
function cluster(delays: readonly (readonly number[])[]): number[] {
  const starts = delays.flat();
  let best: number[] = delays.map(() => Number.NaN);
  let bestSeen = 0;
  for (const start of starts) {
    const width = Math.max(SPREAD_S, SPREAD_SHARE * Math.abs(start));
    const own = delays.map((each) => each.find((delay) => delay >= start && delay <= start + width) ?? Number.NaN);
    const seen = own.filter((delay) => !Number.isNaN(delay)).length;
    if (seen > bestSeen) [best, bestSeen] = [own, seen];
  }
  return best;
}

/** Repetitions without the step that have the same change behind where it is due. */
function lateIn(delays: readonly (readonly number[])[], delayS: readonly number[]): number {
  const latest = Math.max(...delayS.filter((delay) => !Number.isNaN(delay)));
  return delays.filter((each, k) => Number.isNaN(delayS[k] as number) && each.some((delay) => delay > latest)).length;
}

export function* trialsOf(teller: Teller, event: EventTimes, durationS: number): Generator<Trial> {
  const windows = windowsOf(event);
  const kinds = new Map<string, Change[]>();
  for (const change of teller.changes) {
    const key = `${change.from} ${change.to}`;
    kinds.set(key, [...(kinds.get(key) ?? []), change]);
  }
  for (const changes of kinds.values()) {
    const delays = windows.map(([fromS, toS], k) =>
      changes.filter(({ atS }) => atS >= fromS && atS < toS).map(({ atS }) => atS - (event.atS[k] as number)),
    );
    const delayS = cluster(delays);
    const known = delayS.filter((delay) => !Number.isNaN(delay));
    if (known.length === 0) continue;
    const { from, to } = changes[0] as Change;
    const widthS = Math.max(SPREAD_S, SPREAD_SHARE * Math.abs(Math.min(...known)));
    const chance = 1 - Math.exp((-changes.length * widthS) / durationS);
    const tries = (BEFORE_S + AFTER_S) / widthS;
    const p = Math.min(1, tries * binomialTail(known.length, windows.length, chance));
    yield {
      teller,
      from,
      to,
      delayS,
      seen: known.length,
      late: lateIn(delays, delayS),
      p,
      usual: (teller.changes.length * (BEFORE_S + AFTER_S)) / durationS,
    };
  }
}

/** Usual time after the event. */
export const middle = ({ delayS }: Trial): number => median(delayS.filter((delay) => !Number.isNaN(delay)));
