/** What one vehicle weighs, how it is geared and what its pack can do: drawn from a seed so that vehicles differ. */
import { createRandom } from '../../kit/random.ts';

export interface PhysicsParameters {
  readonly massKg: number;
  /** Motor turns a wheel turn. */
  readonly gear: number;
  readonly wheelRadiusM: number;
  readonly dragAreaM2: number;
  readonly rollResistance: number;
  readonly torqueMaxNm: number;
  readonly powerMaxKw: number;
  readonly cells: number;
  readonly capacityAh: number;
  readonly packResistanceOhm: number;
  readonly regenMaxNm: number;
  readonly polePairs: number;
  readonly outsideC: number;
  /** State of charge at time 0, 0..1. */
  readonly charge: number;
  readonly odometerKm: number;
  /** What the dashboard adds to the true speed. */
  readonly displayFactor: number;
  /** Seconds of day at time 0, on the vehicle's own clock. */
  readonly clockS: number;
}

export function drawParameters(seed: number): PhysicsParameters {
  const random = createRandom(seed).fork('physics');
  return {
    massKg: random.between(1250, 2600),
    gear: random.between(7.6, 11.2),
    wheelRadiusM: random.between(0.28, 0.36),
    dragAreaM2: random.between(0.7, 1.7),
    rollResistance: random.between(0.009, 0.014),
    torqueMaxNm: random.between(150, 250),
    powerMaxKw: random.between(45, 100),
    cells: 12 * (6 + random.below(4)),
    capacityAh: random.between(60, 130),
    packResistanceOhm: random.between(0.06, 0.14),
    regenMaxNm: random.between(50, 110),
    polePairs: random.pick([3, 4, 5]),
    outsideC: random.between(2, 27),
    charge: random.between(0.45, 0.85),
    odometerKm: random.between(8_000, 160_000),
    displayFactor: random.between(1.02, 1.06),
    clockS: 3600 * 8 + random.below(3600 * 8),
  };
}

/** The invented post van of the demo. */
export const PK3: PhysicsParameters = {
  massKg: 1680,
  gear: 10.3,
  wheelRadiusM: 0.312,
  dragAreaM2: 1.35,
  rollResistance: 0.012,
  torqueMaxNm: 240,
  powerMaxKw: 72,
  cells: 96,
  capacityAh: 94,
  packResistanceOhm: 0.095,
  regenMaxNm: 80,
  polePairs: 4,
  outsideC: 9.5,
  charge: 0.64,
  odometerKm: 48_213.4,
  displayFactor: 1.04,
  clockS: 9 * 3600 + 41 * 60 + 12,
};
