/** Two ways to draw that the stranger's vehicles are made of, over the project's seeded generator. */
import type { Random } from '../../../src/kit/random.ts';

/** Both ends inclusive. */
export const whole = (random: Random, low: number, high: number): number => low + random.below(high - low + 1);
export const chance = (random: Random, probability: number): boolean => random.next() < probability;
