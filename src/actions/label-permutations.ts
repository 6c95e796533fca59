/**
 * Chance of captures' labels: how far some captures outdo all others, against other choices of as many captures (all of them where they are few, drawn
 * otherwise). Choices that are themselves all captures of one action are no chance, and left out. Two captures of twenty make 190
 * choices, too few for hundreds of fields: so the statistic is a ratio, on one scale for all fields, and is counted over all of them
 * (as in Tusher, Tibshirani and Chu 2001).
 */
import { lowerBound } from '../frames/pictures/columns.ts';
import type { Random } from '../kit/random.ts';
import { permutationP } from '../kit/statistics/false-discovery.ts';
import { median } from '../kit/statistics/order.ts';

const CHOICES_MOST = 2000;
export interface BehaviourOver {
  /** [captures] */
  readonly values: readonly number[];
  /** Departures that count for nothing: what rounding makes of a number, what a state may yet do that it never did in so many captures. */
  readonly floor: number;
}
/** Near copies, in which a vehicle sends most of its quantities, stand apart together and count as one. */
const CLUMP = 2;

export function chooseCount(n: number, k: number): number {
  let count = 1;
  for (let i = 1; i <= k; i++) count = (count * (n - k + i)) / i;
  return Math.round(count);
}

function allSets(n: number, k: number): number[][] {
  const sets: number[][] = [];
  const grow = (set: number[], from: number): void => {
    if (set.length === k) {
      sets.push(set);
      return;
    }
    for (let next = from; next <= n - (k - set.length); next++) grow([...set, next], next + 1);
  };
  grow([], 0);
  return sets;
}

/** Choices of k captures, each with at least two labels among them unless k is 1. */
export function choicesOf(
  labels: readonly (string | null)[],
  k: number,
  random: Random,
): readonly (readonly number[])[] {
  const n = labels.length;
  const all = Array.from({ length: n }, (_, i) => i);
  const sets =
    chooseCount(n, k) <= CHOICES_MOST
      ? allSets(n, k)
      : Array.from({ length: CHOICES_MOST }, () => random.shuffle([...all]).slice(0, k));
  return sets.filter((set) => k === 1 || new Set(set.map((at) => labels[at])).size > 1);
}

/** How far a set of captures outdoes all others, nats: its least departure from the usual over their greatest, one way. 0 where it does not. */
export function outdone({ values, floor }: BehaviourOver, set: readonly number[]): number {
  const isIn = new Set(set);
  const others = values.filter((_, at) => !isIn.has(at));
  const usual = median(others);
  const ratio = (sign: number): number => {
    const least = Math.min(...set.map((at) => sign * ((values[at] as number) - usual)));
    const most = Math.max(0, ...others.map((value) => sign * (value - usual)));
    return least / (most + floor);
  };
  return Math.max(0, Math.log(Math.max(1, ratio(1), ratio(-1))));
}

export interface LabelChance {
  readonly p: number;
  readonly nats: number;
  /** Which behaviour stands apart most. */
  readonly strongest: number;
}

/**
 * [fields] p of a field whose captures stand so far apart, given how far those of all fields do for other choices, and never below the share of
 * its own choices that do as well. Cost: fields x choices x captures.
 */
export function labelChances(
  fields: readonly (readonly BehaviourOver[])[],
  own: readonly number[],
  choices: readonly (readonly number[])[],
): LabelChance[] {
  const judged = fields.map((behaviours) => {
    const seen = behaviours.map((each) => outdone(each, own));
    const nats = Math.max(...seen);
    const others = choices.map((set) => Math.max(...behaviours.map((each) => outdone(each, set))));
    return { nats, strongest: seen.indexOf(nats), others };
  });
  const pool = Float64Array.from(judged.flatMap(({ others }) => others)).sort();
  return judged.map(({ nats, strongest, others }) => {
    const ownShare = others.filter((each) => each >= nats).length / Math.max(1, others.length);
    const pooled = permutationP((pool.length - lowerBound(pool, nats)) / CLUMP, pool.length / CLUMP);
    return { nats, strongest, p: nats > 0 ? Math.min(1, Math.max(pooled, ownShare)) : 1 };
  });
}
