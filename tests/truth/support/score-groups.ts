/** Scores sender groups: adjusted Rand index (Hubert and Arabie 1985) and pairwise precision and recall. */
import type { Vehicle } from '../../../src/demo/true-frame.ts';
import { keyOf } from './observed.ts';

/** Frame key -> true group letter, for frames that modules send by themselves; relayed copies and diagnostics left out. */
export function trueGroups(vehicle: Vehicle): Map<string, string> {
  const own = vehicle.frames.filter(({ copyOf, diagnostic }) => copyOf === null && diagnostic === null);
  return new Map(own.map(({ map }) => [keyOf(map), map.sender?.group ?? '']));
}

const pairs = (n: number): number => (n * (n - 1)) / 2;

function countBy<T>(items: readonly T[], key: (item: T) => string): number[] {
  const counts = new Map<string, number>();
  for (const item of items) counts.set(key(item), (counts.get(key(item)) ?? 0) + 1);
  return [...counts.values()];
}

/** 1 for equal partitions, about 0 for chance. `labels`: [true, found] of each item; give unknown ones a label of their own. */
export function adjustedRandIndex(labels: readonly (readonly [string, string])[]): number {
  const sum = (counts: readonly number[]): number => counts.reduce((total, n) => total + pairs(n), 0);
  const both = sum(countBy(labels, ([a, b]) => `${a}\u0000${b}`));
  const [left, right] = [sum(countBy(labels, ([a]) => a)), sum(countBy(labels, ([, b]) => b))];
  const expected = (left * right) / pairs(labels.length);
  const most = (left + right) / 2;
  return most === expected ? 1 : (both - expected) / (most - expected);
}

export interface PairScore {
  readonly precision: number;
  readonly recall: number;
}

export function pairScore(labels: readonly (readonly [string, string])[]): PairScore {
  const sum = (counts: readonly number[]): number => counts.reduce((total, n) => total + pairs(n), 0);
  const both = sum(countBy(labels, ([a, b]) => `${a}\u0000${b}`));
  return { precision: both / sum(countBy(labels, ([, b]) => b)), recall: both / sum(countBy(labels, ([a]) => a)) };
}
