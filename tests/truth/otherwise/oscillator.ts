/**
 * Clocks from first principles: a fixed error of the part, slow temperature wander (a few sinusoids of minutes, so that rate and
 * phase are smooth and known in closed form) and self-heating after power-up. Typical errors of crystals (tens of ppm) and
 * ceramic resonators (thousandths) are common practice, no source.
 */
import type { Random } from '../../../src/kit/random.ts';

export interface OscillatorPlan {
  /** How much faster than true time it runs on average, parts per million. */
  readonly ppm: number;
  /** Root mean square of its slow wander, parts per million. */
  readonly wanderPpm: number;
  /** By how much it runs faster when cold, and how soon it warms. */
  readonly coldPpm: number;
  readonly warmingS: number;
}

export interface Oscillator {
  /** What its clock shows at a true instant; both 0 at the start of the recording. Microseconds. */
  readonly ownUs: (trueUs: number) => number;
  readonly trueUs: (ownUs: number) => number;
}

interface Wave {
  readonly amplitude: number;
  readonly perUs: number;
  readonly phase: number;
}

function drawWaves(random: Random, wanderPpm: number): Wave[] {
  const share = (wanderPpm * Math.SQRT2) / Math.sqrt(3);
  return [0, 1, 2].map(() => ({
    amplitude: share * 1e-6 * random.between(0.6, 1.3),
    perUs: (2 * Math.PI) / (1e6 * 120 * 15 ** random.next()),
    phase: random.between(0, 2 * Math.PI),
  }));
}

export function makeOscillator(plan: OscillatorPlan, random: Random): Oscillator {
  const waves = drawWaves(random, plan.wanderPpm);
  const warmingUs = plan.warmingS * 1e6;
  const ownUs = (trueUs: number): number => {
    let ahead = plan.ppm * 1e-6 * trueUs;
    for (const { amplitude, perUs, phase } of waves) {
      ahead += (amplitude / perUs) * (Math.cos(phase) - Math.cos(perUs * trueUs + phase));
    }
    if (plan.coldPpm !== 0 && trueUs > 0) {
      ahead += plan.coldPpm * 1e-6 * warmingUs * (1 - Math.exp(-trueUs / warmingUs));
    }
    return trueUs + ahead;
  };
  let lastAhead = 0;
  const trueUs = (own: number): number => {
    const found = invert(ownUs, own, own - lastAhead);
    lastAhead = own - found;
    return found;
  };
  return { ownUs, trueUs };
}

/** The error's slope is below 1 %, so each round gains two digits and more; the last answer is a good start. */
function invert(ownUs: (trueUs: number) => number, own: number, start: number): number {
  let trueUs = start;
  for (let round = 0; round < 8; round++) {
    const off = own - ownUs(trueUs);
    trueUs += off;
    if (Math.abs(off) < 1e-4) break;
  }
  return trueUs;
}

export function drawCrystal(random: Random): OscillatorPlan {
  return {
    ppm: 30 * random.normal(),
    wanderPpm: random.between(0.2, 2),
    coldPpm: random.between(-3, 3),
    warmingS: random.between(40, 240),
  };
}

/** Worse by a factor of thirty and more, and as sensitive to temperature. */
export function drawResonator(random: Random): OscillatorPlan {
  const sign = random.next() < 0.5 ? -1 : 1;
  return {
    ppm: sign * 300 * 6.6 ** random.next(),
    wanderPpm: random.between(10, 60),
    coldPpm: random.between(-100, 100),
    warmingS: random.between(40, 240),
  };
}
