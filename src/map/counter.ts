/**
 * Counters: the next value, live state for sending, and whether a run of received values continues.
 * A skip over a silence long enough for it tells how many frames the log lost; a skip at the usual pace is a break.
 */
import type { MapCounter } from './schema.ts';

type CounterRule = Pick<MapCounter, 'step' | 'every' | 'min' | 'max'>;

/** Number of values the counter goes through before it starts again at most: max - min + 1. */
export const counterModulus = (counter: CounterRule): number => counter.max - counter.min + 1;

const positiveModulo = (value: number, modulus: number): number => ((value % modulus) + modulus) % modulus;

/** min + (v - min + step) mod (max - min + 1). */
export function nextCounterValue(counter: CounterRule, value: number): number {
  return counter.min + positiveModulo(value - counter.min + counter.step, counterModulus(counter));
}

/** What a sender keeps of one counter between frames. */
export interface CounterState {
  readonly value: number;
  /** Frames already sent with this value. */
  readonly sent: number;
}

/** The state for the frame after this one. */
export function advanceCounter(counter: CounterRule, state: CounterState): CounterState {
  if (state.sent + 1 < counter.every) return { value: state.value, sent: state.sent + 1 };
  return { value: nextCounterValue(counter, state.value), sent: 0 };
}

/**
 * [modulus] how many steps lead from min to min + index; -1 where no number of steps does.
 */
function stepsFromMin(counter: CounterRule): { readonly steps: Int32Array; readonly cycle: number } {
  const modulus = counterModulus(counter);
  const steps = new Int32Array(modulus).fill(-1);
  let [value, cycle] = [0, 0];
  while (steps[value] === -1) {
    steps[value] = cycle++;
    value = positiveModulo(value + counter.step, modulus);
  }
  return { steps, cycle };
}

/** Steps between two values, 0..cycle-1; -1 where the rule never leads from one to the other. */
export function compileStepsBetween(counter: CounterRule): {
  readonly between: (from: number, to: number) => number;
  readonly cycle: number;
} {
  const modulus = counterModulus(counter);
  // Wide counters step by one or so: no table of 2^32 entries for them.
  if (modulus > 65_536) {
    const unit = Math.abs(counter.step) === 1 ? counter.step : 0;
    const between = (from: number, to: number): number => (unit ? positiveModulo((to - from) * unit, modulus) : -1);
    return { between, cycle: modulus };
  }
  const { steps, cycle } = stepsFromMin(counter);
  return { between: (from, to) => steps[positiveModulo(to - from, modulus)] as number, cycle };
}

export interface CounterContinuity {
  /** Pairs of consecutive frames compared. */
  readonly pairs: number;
  /** Pairs that continue as the rule says, lost frames allowed for. */
  readonly continued: number;
  /** Frames missing between pairs, by the counter where the silence is long enough for them. */
  readonly lost: number;
  /** Pairs in which the value stayed longer than `every` says. */
  readonly repeated: number;
  /** Pairs that jump without a silence to explain it, or to a value the rule never reaches. */
  readonly jumped: number;
  /** Frames whose value lies outside min..max. */
  readonly outOfRange: number;
  /** Distinct values seen. */
  readonly distinct: number;
  /** Indexes (into the values given) of the first breaks, at most 100. */
  readonly breaks: readonly number[];
}

export interface CounterTiming {
  /** [values] microseconds, ascending. */
  readonly timeUs: Float64Array;
  /** Usual interval between these frames; null where there is none, then every skip counts as lost frames. */
  readonly periodUs: number | null;
}

/** Frames missing in a silence, at most, by the clock: Infinity where the clock cannot say. */
function roomForLost(timing: CounterTiming | null, index: number): number {
  if (!timing?.periodUs) return Infinity;
  const silence = (timing.timeUs[index] as number) - (timing.timeUs[index - 1] as number);
  return silence / timing.periodUs - 0.5;
}

/** How many frames went missing, given that `least` did or a whole number of cycles more. */
function lostNearest(least: number, room: number, cycleFrames: number): number {
  if (!Number.isFinite(room)) return least;
  return least + Math.max(0, Math.round((room - 0.5 - least) / cycleFrames)) * cycleFrames;
}

/**
 * Holds a counter against the raw values of consecutive frames (of its page, where it has one).
 * @param raws [n] raw values; @param timing their stamps, or null. Linear in n.
 */
export function checkContinuity(
  counter: CounterRule,
  raws: Float64Array,
  timing: CounterTiming | null,
): CounterContinuity {
  const { between, cycle } = compileStepsBetween(counter);
  const { every } = counter;
  const inRange = (value: number): boolean => value >= counter.min && value <= counter.max;
  const breaks: number[] = [];
  const seen = new Set<number>();
  const sum = { pairs: 0, continued: 0, lost: 0, repeated: 0, jumped: 0, outOfRange: 0 };
  // Frames already seen with the present value; unknown (0) until the first change or after a loss.
  let held = 0;
  for (let i = 0; i < raws.length; i++) {
    const value = raws[i] as number;
    if (seen.size < 65_536) seen.add(value);
    if (!inRange(value)) sum.outOfRange++;
    if (i === 0) continue;
    sum.pairs++;
    const verdict = judgePair(raws[i - 1] as number, value, roomForLost(timing, i));
    if (verdict < 0) {
      if (breaks.length < 100) breaks.push(i);
      held = 0;
    } else {
      sum.continued++;
      sum.lost += verdict;
    }
  }
  return { ...sum, distinct: seen.size, breaks };

  /** Lost frames before this one, or -1 for a break. */
  function judgePair(before: number, value: number, room: number): number {
    if (!inRange(value) || !inRange(before)) return jump();
    const steps = between(before, value);
    if (steps < 0) return jump();
    if (steps === 0) return stay(room);
    const known = held > 0;
    const least = (steps - 1) * every + (known ? every - held : 0);
    held = least === 0 || (steps === 1 && !known) ? 1 : 0;
    if (steps === 1 && !known) return 0;
    if (least === 0 || room >= least) return lostNearest(least, room, cycle * every);
    held = 0;
    return jump();
  }

  function stay(room: number): number {
    if (held > 0 && held < every) {
      held++;
      return 0;
    }
    if (held === 0 && every > 1) return 0;
    const least = cycle * every - 1;
    if (timing?.periodUs && room >= least) return lostNearest(least, room, cycle * every);
    sum.repeated++;
    return -1;
  }

  function jump(): number {
    sum.jumped++;
    return -1;
  }
}
