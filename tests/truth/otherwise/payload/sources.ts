/**
 * What goes on in the vehicle: quantities between 0 and 1 (or -1 and 1) over time, of a dozen habits. Several values may show the same one.
 * Which they are belongs to the vehicle; how they go belongs to the drive.
 */
import type { Random } from '../../../../src/kit/random.ts';

export const HABITS = [
  'walk',
  'trapezoid',
  'set-point',
  'response',
  'warming',
  'draining',
  'swing',
  'bumps',
  'both-ways',
] as const;
export type Habit = (typeof HABITS)[number];

export interface SourcePlan {
  readonly habit: Habit;
  /** Seconds in which it changes markedly. */
  readonly paceS: number;
}

export const STEP_S = 0.01;
const limited = (value: number, low: number, high: number): number => Math.min(high, Math.max(low, value));

export function drawSources(random: Random, count: number): SourcePlan[] {
  return Array.from({ length: count }, (_, index) => {
    const habit = index < HABITS.length ? (HABITS[index] as Habit) : random.pick(HABITS);
    return { habit, paceS: 10 ** random.between(-0.2, 1.3) };
  });
}

/** Levels taken at random moments and held. */
function setPoints(random: Random, steps: number, paceS: number): Float32Array {
  const out = new Float32Array(steps);
  let level = random.next() < 0.4 ? 0 : random.next();
  for (let i = 0; i < steps; i++) {
    if (random.next() < STEP_S / (2 * paceS)) level = random.next() < 0.25 ? random.pick([0, 1]) : random.next();
    out[i] = level;
  }
  return out;
}

/** A mass on a spring with friction that follows its set point, over-shooting a little. */
function follow(targets: Float32Array, paceS: number): Float32Array {
  const out = new Float32Array(targets.length);
  const stiffness = 4 / paceS ** 2;
  let [value, speed] = [targets[0] ?? 0, 0];
  targets.forEach((target, i) => {
    speed += STEP_S * (stiffness * (target - value) - 1.3 * Math.sqrt(stiffness) * speed);
    value += STEP_S * speed;
    out[i] = limited(value, 0, 1);
  });
  return out;
}

function trapezoid(random: Random, steps: number, paceS: number): Float32Array {
  const out = new Float32Array(steps);
  let [value, target, waits] = [0, 0, 0];
  const slope = STEP_S / (paceS * random.between(0.5, 2));
  for (let i = 0; i < steps; i++) {
    if (value === target && waits-- <= 0) {
      target = random.next() < 0.4 ? 0 : random.between(0.2, 1);
      waits = Math.floor((random.between(0.3, 2) * paceS) / STEP_S);
    }
    value += limited(target - value, -slope, slope);
    out[i] = value;
  }
  return out;
}

function walk(random: Random, steps: number, paceS: number, low: number): Float32Array {
  const out = new Float32Array(steps);
  let value = random.between(low, 1);
  let drift = 0;
  const unit = Math.sqrt(STEP_S / paceS);
  for (let i = 0; i < steps; i++) {
    drift = 0.98 * drift + 0.02 * random.normal();
    value += 4 * unit * drift;
    if (value > 1) value = 2 - value;
    if (value < low) value = 2 * low - value;
    out[i] = limited(value, low, 1);
  }
  return out;
}

function exponential(random: Random, steps: number, paceS: number): Float32Array {
  const [from, to] = [random.between(0.1, 0.5), random.between(0.4, 0.9)];
  const lagS = 8 * paceS;
  const second = random.between(0.01, 0.03);
  return Float32Array.from({ length: steps }, (_, i) => {
    const t = i * STEP_S;
    return to + (from - to) * Math.exp(-t / lagS) + second * Math.sin(t / (3 * paceS));
  });
}

function swing(random: Random, steps: number, paceS: number): Float32Array {
  const size = walk(random, steps, 4 * paceS, 0);
  let angle = 0;
  return size.map((own) => Math.sin((angle += (2 * Math.PI * STEP_S) / paceS)) * own);
}

function bumps(random: Random, steps: number, paceS: number): Float32Array {
  let height = 0;
  return new Float32Array(steps).map(() => {
    if (random.next() < STEP_S / (3 * paceS)) height = random.between(0.2, 1);
    return (height *= 1 - STEP_S / (0.2 * paceS + 0.05));
  });
}

export type SourceColumn = Float32Array;

/** [durationS / STEP_S] of each source, in order; a response follows the source before it. */
export function runSources(plans: readonly SourcePlan[], random: Random, durationS: number): SourceColumn[] {
  const steps = Math.ceil(durationS / STEP_S) + 1;
  const columns: SourceColumn[] = [];
  plans.forEach(({ habit, paceS }, index) => {
    const own = random.fork(`source ${index}`);
    columns.push(runSource(habit, own, steps, paceS, columns[index - 1]));
  });
  return columns;
}

function runSource(habit: Habit, random: Random, steps: number, paceS: number, before?: SourceColumn): SourceColumn {
  switch (habit) {
    case 'walk':
      return walk(random, steps, paceS, 0);
    case 'both-ways':
      return walk(random, steps, paceS, -1);
    case 'trapezoid':
      return trapezoid(random, steps, paceS);
    case 'set-point':
      return setPoints(random, steps, paceS);
    case 'response':
      return follow(
        before && before.every((value) => value >= 0) ? before : setPoints(random, steps, paceS),
        paceS / 4,
      );
    case 'warming':
      return exponential(random, steps, paceS);
    case 'draining':
      return runSource('walk', random, steps, paceS * 40, undefined).map((value, i) => value * (1 - (0.2 * i) / steps));
    case 'swing':
      return swing(random, steps, paceS);
    case 'bumps':
      return bumps(random, steps, paceS);
  }
}

export const goesBothWays = ({ habit }: SourcePlan): boolean => habit === 'swing' || habit === 'both-ways';
