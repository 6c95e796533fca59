/**
 * When modules send: each on a crystal of its own, its frames of one pace together. What a module gets over the bus is what was sent, held until the
 * next frame: no part answers a command before it is on the bus.
 */
import type { Random } from '../../../src/kit/random.ts';
import { STEP_S, type Column } from './columns.ts';

export type Pace = 'fast' | 'medium' | 'slow';

export interface Beat {
  readonly periodMs: number;
  /** Seconds, of the first frame. */
  readonly phaseS: number;
  /** The crystal runs so much slow, parts per million. */
  readonly slowPpm: number;
}

const PERIODS_MS: Record<Pace, readonly number[]> = {
  fast: [10, 20, 20, 25],
  medium: [40, 50, 100, 100],
  slow: [100, 200, 250, 500, 1000],
};

/** Usual spread of crystals (data sheets promise 50 to 100 ppm over all; common practice, no source). */
const CRYSTAL_PPM = 30;

/** machine: what stays the same over all its recordings; recording: what does not. */
export function drawBeat(machine: Random, recording: Random, sender: string, pace: Pace): Beat {
  const periodMs = machine.fork(`beat ${sender} ${pace}`).pick(PERIODS_MS[pace]);
  const slowPpm = machine.fork(`crystal ${sender}`).normal() * CRYSTAL_PPM;
  return { periodMs, slowPpm, phaseS: (recording.fork(`beat ${sender} ${pace}`).next() * periodMs) / 1000 };
}

/** Seconds, ascending, of frames that follow the beat by so much. */
export function beatTimes({ periodMs, phaseS, slowPpm }: Beat, seconds: number, afterS = 0): number[] {
  const periodS = (periodMs / 1000) * (1 + slowPpm * 1e-6);
  return Array.from({ length: Math.max(0, Math.ceil((seconds - phaseS - afterS) / periodS)) }, (_, k) =>
    Math.min(seconds, phaseS + afterS + k * periodS),
  );
}

/** The longest that a frame follows its beat by, and the wire takes. */
const ARRIVES_S = 0.01;

/** When what was sent arrives, and when it was read: steps by steps. */
export function arrivals(beat: Beat, steps: number): ReadonlyMap<number, number> {
  return new Map(
    beatTimes(beat, steps * STEP_S).map((timeS) => [
      Math.ceil((timeS + ARRIVES_S) / STEP_S),
      Math.floor(timeS / STEP_S + 1e-9),
    ]),
  );
}

/** A column as another module knows it. */
export function heardOf(column: Column, beat: Beat): Column {
  const arrived = arrivals(beat, column.length);
  let held = column[0] as number;
  return column.map((_, step) => (held = column[arrived.get(step) ?? -1] ?? held));
}
