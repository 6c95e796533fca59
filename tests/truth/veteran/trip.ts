/** One drive of one vehicle: all that goes on in it, as columns. */
import type { Random } from '../../../src/kit/random.ts';
import { Cabin } from './cabin.ts';
import { Columns, STEP_S } from './columns.ts';
import { drawPack, Energy, type Pack } from './energy.ts';
import { addExtra, drawExtras, type Extra } from './extras.ts';
import { writeItinerary, type TripKind } from './itinerary.ts';
import { drawBody, Traction, type Body } from './traction.ts';

export interface Machine {
  readonly body: Body;
  readonly pack: Pack;
  readonly extras: readonly Extra[];
}

export const drawMachine = (random: Random, extras: number): Machine => ({
  body: drawBody(random.fork('body')),
  pack: drawPack(random.fork('pack')),
  extras: drawExtras(random.fork('extras'), extras),
});

export interface Trip {
  readonly columns: Columns;
  readonly durationS: number;
  /** Seconds since midnight at its start. */
  readonly clockS: number;
  readonly startKm: number;
}

export function simulate(machine: Machine, kind: TripKind, durationS: number, random: Random): Trip {
  const columns = new Columns(durationS);
  const legs = writeItinerary(kind, durationS, random.fork('person'));
  const traction = new Traction(machine.body, random.fork('traction'));
  const energy = new Energy(machine.pack, random.fork('energy'));
  const cabin = new Cabin(random.fork('cabin'));
  const startKm = random.between(2000, 180_000);
  let [at, contactor, charge] = [0, 0, 0];
  for (let row = 0; row < columns.count; row++) {
    while (at + 1 < legs.length && legs[at + 1]!.fromS <= row * STEP_S) at++;
    const leg = legs[at]!;
    const driven = traction.step(row, leg, energy.isLive && leg.key === 'ready');
    const powered = energy.step(leg, { powerW: traction.powerW, torque: driven['torque']! });
    [contactor, charge] = [powered['contactor']!, powered['chargeState']!];
    const used = cabin.step(leg, {
      speed: driven['speed']!,
      braking: driven['brakePressure']!,
      pedal: driven['accelerator']!,
      torque: driven['torque']!,
      contactor,
      charge,
    });
    columns.put(row, driven);
    columns.put(row, powered);
    columns.put(row, used);
    columns.put(row, { odometer: startKm + traction.distanceM / 1000, tripKm: traction.distanceM / 1000 });
  }
  for (const extra of machine.extras) addExtra(extra, columns, random.fork(extra.name));
  return { columns, durationS, clockS: random.below(86_400), startKm };
}
