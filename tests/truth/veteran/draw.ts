/** Short ways to draw. */
import type { Random } from '../../../src/kit/random.ts';

export const chance = (random: Random, share: number): boolean => random.next() < share;

/** Uniform integer, both ends included. */
export const integer = (random: Random, low: number, high: number): number => low + random.below(high - low + 1);

export function weighted<T>(random: Random, choices: readonly (readonly [weight: number, item: T])[]): T {
  let left = random.next() * choices.reduce((sum, [weight]) => sum + weight, 0);
  for (const [weight, item] of choices) {
    left -= weight;
    if (left < 0) return item;
  }
  return choices.at(-1)![1];
}

/** Log-uniform. */
export const spread = (random: Random, low: number, high: number): number => low * (high / low) ** random.next();

export const clamp = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

/** So many different items, or all where there are fewer. */
export const some = <T>(random: Random, items: readonly T[], count: number): T[] =>
  random.shuffle([...items]).slice(0, count);
