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

/**
 * Where a counter stands: how many frames it has already held its value (1..every), 0 where that is not known.
 */
interface Lost {
  readonly frames: number;
  readonly held: number;
}

/**
 * The number of lost frames nearest to `expected` that explains a move by `steps`. From `held` frames into a value, k lost
 * frames and this one lead floor((held + k) / every) steps on, whole turns of the counter apart.
 */
function explainMove(steps: number, held: number, expected: number, every: number, turn: number): Lost {
  const [most, least] = held > 0 ? [held, held] : [every, 1];
  const start = steps * every;
  const nearTurn = Math.floor((expected + most - start) / turn);
  let frames = Infinity;
  for (let n = Math.max(0, nearTurn - 1); n <= nearTurn + 1 || frames === Infinity; n++) {
    const low = Math.max(0, start + n * turn - most);
    const high = start + n * turn + every - 1 - least;
    if (high < low) continue;
    const nearest = Math.min(Math.max(expected, low), high);
    if (Math.abs(nearest - expected) < Math.abs(frames - expected)) frames = nearest;
  }
  if (every === 1) return { frames, held: 1 };
  if (held === 0) return { frames, held: steps === 1 && frames === 0 ? 1 : 0 };
  return { frames, held: frames === expected ? ((held + frames) % every) + 1 : 0 };
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
  const turn = cycle * every;
  const unknown = every === 1 ? 1 : 0;
  const inRange = (value: number): boolean => value >= counter.min && value <= counter.max;
  const breaks: number[] = [];
  const seen = new Set<number>();
  const sum = { pairs: 0, continued: 0, lost: 0, repeated: 0, jumped: 0, outOfRange: 0 };
  let held = unknown;
  for (let i = 0; i < raws.length; i++) {
    const value = raws[i] as number;
    if (seen.size < 65_536) seen.add(value);
    if (!inRange(value)) sum.outOfRange++;
    if (i === 0) continue;
    sum.pairs++;
    const before = raws[i - 1] as number;
    const steps = inRange(value) && inRange(before) ? between(before, value) : -1;
    const { room, expected } = roomForLost(timing, i, turn);
    const lost = steps < 0 ? null : explainMove(steps, held, expected, every, turn);
    if (lost && lost.frames <= room) {
      sum.continued++;
      sum.lost += lost.frames;
      held = lost.held;
    } else {
      if (steps === 0) sum.repeated++;
      else sum.jumped++;
      if (breaks.length < 100) breaks.push(i);
      held = unknown;
    }
  }
  return { ...sum, distinct: seen.size, breaks };
}

/** How many frames may have been lost before this one, and how many the clock expects. Without a clock: less than a turn, none. */
function roomForLost(timing: CounterTiming | null, index: number, turn: number): { room: number; expected: number } {
  if (!timing?.periodUs) return { room: turn - 2, expected: 0 };
  const silence = (timing.timeUs[index] as number) - (timing.timeUs[index - 1] as number);
  const periods = silence / timing.periodUs;
  // A frame that comes early, at once on a change, leaves no room, yet it may be the very next.
  return { room: Math.max(0, periods - 0.5), expected: Math.max(0, Math.round(periods) - 1) };
}
