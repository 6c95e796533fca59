/** Two drives of one vehicle with their truth, by condition and seed. */
import { createRandom, type Random } from '../../../src/kit/random.ts';
import type { KnownDrive, KnownStream } from '../fields-truth.ts';
import { drawVehicle, type Vehicle, type VeteranCondition } from './draw-vehicle.ts';
import { knownOf } from './layout.ts';
import { run, type Heard } from './run.ts';
import { simulate, type Trip } from './trip.ts';

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

export interface Parts {
  readonly vehicle: Vehicle;
  readonly drive: (which: 'first' | 'second') => { readonly trip: Trip; readonly heard: readonly Heard[] };
}

/** The vehicle, and what goes on in its drives beside what is heard of it. */
export function makeParts(condition: VeteranCondition, random: Random): Parts {
  const vehicle = drawVehicle(condition, random.fork('vehicle'));
  return {
    vehicle,
    drive: (which) => {
      const own = random.fork(which);
      // What was found standing must hold where the vehicle goes somewhere.
      const kind = which === 'first' ? condition.trip : 'usual';
      const trip = simulate(vehicle.machine, kind, condition.durationS, own.fork('trip'));
      return { trip, heard: run(vehicle, trip, own.fork('run')) };
    },
  };
}

export function veteranDrive(name: VeteranConditionName, seed: number): KnownDrive {
  const { drive } = makeParts(VETERAN_CONDITIONS[name], createRandom(seed).fork(`veteran ${name}`));
  const known = (which: 'first' | 'second'): KnownStream[] =>
    drive(which).heard.map(({ layout, stream }) => ({ frame: knownOf(layout), stream }));
  return { name: `veteran ${name} ${seed}`, streams: known('first'), again: () => known('second') };
}
