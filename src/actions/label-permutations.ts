/**
 * Chance of captures' labels: how far some captures stand from all others, compared with every other choice of as many
 * (exact where they are few, drawn otherwise). The statistic is the rank sum of Wilcoxon (1945) with mid-ranks and its
 * variance under ties, either sign, the greater of several behaviours; p as in Phipson and Smyth (2010).
 */
import type { Random } from '../kit/random.ts';
import { permutationP } from '../kit/statistics/false-discovery.ts';
import { ranks } from '../kit/statistics/order.ts';

const EXACT_MOST = 20_000;
const SLACK = 1e-9;

/** Choices of k of n, all of them or EXACT_MOST drawn ones. */
export interface Choices {
  readonly exact: boolean;
  readonly sets: readonly (readonly number[])[];
}

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

export function choicesOf(n: number, k: number, random: Random): Choices {
  if (chooseCount(n, k) <= EXACT_MOST) return { exact: true, sets: allSets(n, k) };
  const all = Array.from({ length: n }, (_, i) => i);
  return { exact: false, sets: Array.from({ length: EXACT_MOST }, () => random.shuffle([...all]).slice(0, k)) };
}

/** [n] mid-ranks less their mean, over the deviation of a sum of k of them; all 0 where nothing differs. */
export function rankScores(values: readonly number[], k: number): Float64Array {
  const n = values.length;
  const scores = ranks(values).map((rank) => rank - (n + 1) / 2);
  const squares = scores.reduce((sum, score) => sum + score * score, 0);
  if (squares === 0) return scores;
  const deviation = Math.sqrt((squares * k * (n - k)) / (n * (n - 1)));
  return scores.map((score) => score / deviation);
}

const sumOver = (scores: Float64Array, set: readonly number[]): number =>
  set.reduce((sum, at) => sum + (scores[at] as number), 0);

const greatestOf = (behaviours: readonly Float64Array[], set: readonly number[]): number =>
  Math.max(...behaviours.map((scores) => Math.abs(sumOver(scores, set))));

/** p of the captures `own` standing apart in at least one behaviour, and in which they do so most. */
export function labelChance(
  behaviours: readonly Float64Array[],
  own: readonly number[],
  { exact, sets }: Choices,
): { p: number; strongest: number } {
  const seen = greatestOf(behaviours, own);
  const as = sets.filter((set) => greatestOf(behaviours, set) >= seen - SLACK).length;
  const strongest = behaviours.findIndex((scores) => Math.abs(sumOver(scores, own)) >= seen - SLACK);
  // Among all choices is the one seen.
  return { p: exact ? as / sets.length : permutationP(as, sets.length), strongest: Math.max(0, strongest) };
}
