/** Scores sender groups: adjusted Rand index (Hubert and Arabie 1985) and pairwise precision and recall. */
import type { Vehicle } from '../../../src/demo/true-frame.ts';
import type { SurveyGroup } from '../../../src/timing/types.ts';
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

const CONFIDENT = 0.9;

/** Memberships of 0.9 and more, and those of them whose module most members of the group are from. */
export function countConfident(
  groups: readonly SurveyGroup[],
  moduleOf: (member: SurveyGroup['members'][number]) => string,
): { readonly confident: number; readonly right: number } {
  let [confident, right] = [0, 0];
  for (const { members } of groups) {
    const modules = members.map(moduleOf);
    const count = (module: string): number => modules.filter((other) => other === module).length;
    const usual = [...modules].sort((a, b) => count(b) - count(a))[0] as string;
    members.forEach(({ confidence }, place) => {
      if (confidence < CONFIDENT) return;
      confident++;
      if (modules[place] === usual && count(usual) > 1) right++;
    });
  }
  return { confident, right };
}
