/** Doors, belt, fan and what else is switched now and then in a stranger's vehicle, at moments of a Poisson process. */
import type { Random } from '../../../src/kit/random.ts';
import { whole } from './draw.ts';

/** Mean seconds between two changes while driving, standing, and before the first. */
const MEANS = {
  doorLeft: { driving: 300, standing: 25, first: 20 },
  doorRight: { driving: 600, standing: 60, first: null },
  belt: { driving: 300, standing: 60, first: 30 },
  fault: { driving: 400, standing: 400, first: null },
  pumpOn: { driving: 30, standing: 30, first: null },
  wiper: { driving: 80, standing: 80, first: null },
  fan: { driving: 60, standing: 60, first: null },
  blinksLeft: { driving: 20, standing: 60, first: null },
  blinksRight: { driving: 20, standing: 90, first: null },
} as const;
type SwitchName = keyof typeof MEANS;
const NAMES = Object.keys(MEANS) as SwitchName[];

const exponential = (random: Random, mean: number): number => -Math.log(random.next() + 1e-9) * mean;

export interface Switches {
  /** How all stand at this moment; moments must not go back. */
  at(timeS: number): Readonly<Record<SwitchName, number>>;
}

export function drawSwitches(random: Random, condition: 'driving' | 'standing'): Switches {
  const now = Object.fromEntries(NAMES.map((name) => [name, 0])) as Record<SwitchName, number>;
  const next = Object.fromEntries(
    NAMES.map((name) => [name, exponential(random, MEANS[name].first ?? MEANS[name][condition])]),
  ) as Record<SwitchName, number>;
  return {
    at(timeS) {
      for (const name of NAMES) {
        while (next[name] <= timeS) {
          next[name] += exponential(random, MEANS[name][condition]) + 0.3;
          now[name] = name === 'fan' ? whole(random, 0, 7) : name === 'wiper' ? whole(random, 0, 2) : 1 - now[name];
        }
      }
      return now;
    },
  };
}
