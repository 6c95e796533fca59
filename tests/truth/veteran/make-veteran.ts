/** Two drives of one vehicle with their truth, by condition and seed. */
import { createRandom } from '../../../src/kit/random.ts';
import type { KnownDrive, KnownStream } from '../fields-truth.ts';
import { drawVehicle, type VeteranCondition } from './draw-vehicle.ts';
import { knownOf } from './layout.ts';
import { run } from './run.ts';
import { simulate } from './trip.ts';

const usual: VeteranCondition = {
  identifiers: [20, 40],
  buses: 1,
  guarded: 0.45,
  keyed: 0.04,
  odd: 0.04,
  cipher: 0.03,
  paged: 0.12,
  extended: 0.1,
  fd: 0,
  durationS: 120,
  trip: 'usual',
};

export const VETERAN_CONDITIONS = {
  plain: usual,
  dense: { ...usual, identifiers: [55, 55], buses: 2 },
  guarded: { ...usual, guarded: 1, keyed: 0.1, odd: 0.08 },
  paged: { ...usual, paged: 0.5 },
  extended: { ...usual, extended: 1 },
  fd: { ...usual, identifiers: [20, 24], fd: 0.7, cipher: 0.05, keyed: 0.08 },
  short: { ...usual, durationS: 40 },
  standing: { ...usual, trip: 'standing' },
} as const satisfies Record<string, VeteranCondition>;
export type VeteranConditionName = keyof typeof VETERAN_CONDITIONS;

export function veteranDrive(name: VeteranConditionName, seed: number): KnownDrive {
  const condition = VETERAN_CONDITIONS[name];
  const random = createRandom(seed).fork(`veteran ${name}`);
  const vehicle = drawVehicle(condition, random.fork('vehicle'));
  const drive = (which: string, kind: VeteranCondition['trip']): KnownStream[] => {
    const own = random.fork(which);
    const trip = simulate(vehicle.machine, kind, condition.durationS, own.fork('trip'));
    return run(vehicle, trip, own.fork('run')).map(({ layout, stream }) => ({ frame: knownOf(layout), stream }));
  };
  return {
    name: `veteran ${name} ${seed}`,
    streams: drive('first', condition.trip),
    // What was found standing must hold where the vehicle goes somewhere.
    again: () => drive('second', 'usual'),
  };
}
