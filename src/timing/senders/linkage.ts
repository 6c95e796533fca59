/**
 * Clusters of streams from pairwise drift, joined best first (agglomerative linkage). Two clusters are held against each other as
 * wholes: the drift between them is the mean over all their pairs, weighted by how well each is known, so that many
 * weak readings part two close clocks, and one lucky pair never chains two clusters.
 */
import { median } from '../robust.ts';
import type { OwnWays } from './own-ways.ts';
import type { ClockContrast } from './same-clock.ts';

/** What is known between each two of n streams; all [n * n], row against column. */
export interface PairSums extends OwnWays {
  readonly n: number;
  /** 1 / se^2; symmetric. */
  readonly weight: Float64Array;
  /** weight * ppm by which the row's clock is faster; antisymmetric. */
  readonly weighted: Float64Array;
  /** The same of how the drift changes. */
  readonly bendWeight: Float64Array;
  readonly weightedBend: Float64Array;
  /** Log-likelihood ratio from phases, and from order; symmetric. */
  readonly phase: Float64Array;
  readonly order: Float64Array;
  /** From schedules and roughness; symmetric. */
  readonly habit: Float64Array;
  /** 1 where two clearly drift apart; symmetric. */
  readonly far: Float64Array;
  /** From what is no clock: common moments and guards; symmetric. */
  readonly beside: Float64Array;
}

export interface Cluster {
  readonly members: readonly number[];
  /**
   * For each member, log-odds of the least sure of the joints by which it came to as many others or more: a group that is two
   * modules' after all is still the one's that most of it is of. Infinity for who never came to others.
   */
  readonly surest: readonly number[];
}

/** Two clusters as one. */
function joinClusters(one: Cluster, other: Cluster, logOdds: number): Cluster {
  const cameTo = (own: Cluster, others: Cluster): number[] =>
    own.surest.map((surest) => (own.members.length <= others.members.length ? Math.min(surest, logOdds) : surest));
  return {
    members: [...one.members, ...other.members],
    surest: [...cameTo(one, other), ...cameTo(other, one)],
  };
}

function sumOver(values: Float64Array, n: number, a: readonly number[], b: readonly number[]): number {
  let sum = 0;
  for (const one of a) for (const other of b) sum += values[one * n + other] as number;
  return sum;
}

/** Most of what order says for one clock; where pairs passed each other, the least of what it says against. */
function orderOver({ order, n }: PairSums, a: readonly number[], b: readonly number[]): number {
  let [most, least] = [0, 0];
  for (const one of a) {
    for (const other of b) {
      most = Math.max(most, order[one * n + other] as number);
      least = Math.min(least, order[one * n + other] as number);
    }
  }
  return least < 0 ? least : most;
}

function middleOf(values: Float64Array, members: readonly number[]): number {
  return median(Float64Array.from(members, (at) => values[at] as number));
}

/** Between two sets of streams. Pairs share streams, so that only as many count as the smaller set has members. */
export function contrast(sums: PairSums, a: readonly number[], b: readonly number[]): ClockContrast {
  const pairs = a.length * b.length;
  const over = (values: Float64Array): number => sumOver(values, sums.n, a, b);
  const [weights, bendWeights] = [over(sums.weight), over(sums.bendWeight)];
  const independent = Math.min(a.length, b.length);
  return {
    ppm: over(sums.weighted) / weights,
    se: Math.sqrt(pairs / weights / independent),
    bend: bendWeights > 0 ? over(sums.weightedBend) / bendWeights : 0,
    bendSe: Math.sqrt(pairs / bendWeights / independent),
    phase: over(sums.phase) / pairs,
    order: orderOver(sums, a, b),
    habit: over(sums.habit) / pairs,
    far: over(sums.far) / pairs,
    away: Math.min(middleOf(sums.awayPpm, a), middleOf(sums.awayPpm, b)),
    bent: Math.min(middleOf(sums.bentPpm, a), middleOf(sums.bentPpm, b)),
    beside: over(sums.beside) / pairs,
  };
}

/** @param logOdds above 0 speaks for one clock. O(n^3) at worst, with sums kept between joints. */
export function linkClusters(sums: PairSums, logOdds: (between: ClockContrast) => number): Cluster[] {
  const { n } = sums;
  const clusters: (Cluster | null)[] = Array.from({ length: n }, (_, i) => ({ members: [i], surest: [Infinity] }));
  const score = new Float64Array(n * n).fill(-Infinity);
  const rate = (a: number, b: number): void => {
    const [one, other] = [clusters[a], clusters[b]];
    const value = one && other ? logOdds(contrast(sums, one.members, other.members)) : -Infinity;
    score[a * n + b] = score[b * n + a] = value;
  };
  for (let a = 0; a < n; a++) for (let b = a + 1; b < n; b++) rate(a, b);
  for (;;) {
    const at = score.reduce((best, value, i) => (value > (score[best] as number) ? i : best), 0);
    const most = score[at] as number;
    if (n === 0 || !(most > 0)) return clusters.filter((cluster) => cluster !== null);
    const [a, b] = [Math.floor(at / n), at % n];
    const [one, other] = [clusters[a] as Cluster, clusters[b] as Cluster];
    clusters[a] = joinClusters(one, other, most);
    clusters[b] = null;
    for (let c = 0; c < n; c++) {
      if (c !== a) rate(a, c);
      score[b * n + c] = score[c * n + b] = -Infinity;
    }
  }
}
