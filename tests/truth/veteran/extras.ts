/** Values of parts that nobody knows: each follows something a little, drifts, and has its own noise; drawn once a vehicle. */
import type { Random } from '../../../src/kit/random.ts';
import { chance, spread } from './draw.ts';
import { STEP_S, type Columns } from './columns.ts';

export interface Extra {
  readonly name: string;
  readonly kind: 'number' | 'flag' | 'states';
  /** Of a number: 0 where it goes to both sides. */
  readonly middle: number;
  /** Follows this by so much of its full range; null: nothing. */
  readonly follows: string | null;
  readonly gain: number;
  readonly lagS: number;
  readonly driftS: number;
  readonly noise: number;
  readonly states: number;
  /** Mean seconds between changes of states. */
  readonly changeS: number;
}

const FOLLOWED = ['packPower', 'speed', 'accelerator', 'torque', 'fan', 'lowVoltage', 'steerAngle', 'brakePressure'];
const SCALE: Readonly<Record<string, number>> = {
  packPower: 60,
  speed: 80,
  accelerator: 80,
  torque: 200,
  fan: 50,
  lowVoltage: 14,
  steerAngle: 200,
  brakePressure: 50,
};

export const drawExtras = (random: Random, count: number): Extra[] =>
  Array.from({ length: count }, (_, index): Extra => {
    const kind = random.pick(['number', 'number', 'number', 'flag', 'states'] as const);
    return {
      name: `extra ${kind} ${index}`,
      kind,
      middle: chance(random, 0.35) ? 0 : 0.45,
      follows: chance(random, 0.6) ? random.pick(FOLLOWED) : null,
      gain: random.between(-0.4, 0.4),
      lagS: spread(random, 0.02, 8),
      driftS: spread(random, 0.3, 60),
      noise: chance(random, 0.4) ? spread(random, 0.0003, 0.01) : 0,
      states: kind === 'flag' ? 2 : 3 + random.below(6),
      changeS: spread(random, 0.4, 60),
    };
  });

/** Numbers come to lie within 0.5 around their middle, nearly. */
export function addExtra(extra: Extra, columns: Columns, random: Random): void {
  const out = columns.own(extra.name);
  if (extra.kind !== 'number') {
    let state = 0;
    for (let row = 0; row < out.length; row++) {
      if (chance(random, STEP_S / extra.changeS)) state = random.below(extra.states);
      out[row] = state;
    }
    return;
  }
  const source = extra.follows ? columns.get(extra.follows) : null;
  const scale = SCALE[extra.follows ?? ''] ?? 1;
  let [drift, slow] = [random.normal() * 0.1, source ? source[0]! / scale : 0];
  for (let row = 0; row < out.length; row++) {
    drift += (-drift * STEP_S) / extra.driftS + random.normal() * 0.14 * Math.sqrt(STEP_S / extra.driftS);
    slow += (((source ? source[row]! / scale : 0) - slow) * STEP_S) / Math.max(STEP_S, extra.lagS);
    out[row] = extra.middle + drift * (source ? 0.15 : 1) + extra.gain * slow;
    if (extra.noise > 0) out[row] = out[row]! + random.normal() * extra.noise;
  }
}
