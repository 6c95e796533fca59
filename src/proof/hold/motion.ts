/**
 * How two runs of bits of one value move together. A quantity goes on in steps of some size, so its upper bits change by a carry
 * out of the lower ones or in a leap that throws the lower ones anywhere; bits of another value do neither.
 */
import * as limit from './thresholds.ts';

/** Differences from one value to the next. */
export function differences(values: Float64Array): Float64Array {
  const steps = new Float64Array(Math.max(0, values.length - 1));
  for (let i = 1; i < values.length; i++) steps[i - 1] = (values[i] as number) - (values[i - 1] as number);
  return steps;
}

/** The size under which a share of the moves (not of the rests) lie; 0 without moves. */
function usualMove(moves: readonly number[], share: number): number {
  if (moves.length === 0) return 0;
  const sorted = Float64Array.from(moves, Math.abs).sort();
  return sorted[Math.min(sorted.length - 1, Math.floor(share * sorted.length))] as number;
}

export interface Parting {
  /** Bits below the border. */
  readonly below: number;
  /** Changes looked at, and those that speak for two values. */
  readonly n: number;
  readonly apart: number;
  /** Indexes into the values of the first of these. */
  readonly at: readonly number[];
  readonly side: 'above' | 'below';
}

interface Moves {
  readonly upper: Float64Array;
  readonly lower: Float64Array;
}

function movesAt(values: Float64Array, below: number): Moves {
  const weight = 2 ** below;
  const upper = new Float64Array(Math.max(0, values.length - 1));
  const lower = new Float64Array(upper.length);
  for (let i = 1; i < values.length; i++) {
    const [before, now] = [values[i - 1] as number, values[i] as number];
    const [high, highBefore] = [Math.floor(now / weight), Math.floor(before / weight)];
    upper[i - 1] = high - highBefore;
    lower[i - 1] = now - high * weight - (before - highBefore * weight);
  }
  return { upper, lower };
}

/** Upper bits that change while the lower ones go on as ever: they belong to another value. Null where that cannot be told. */
export function partAbove(values: Float64Array, below: number): Parting | null {
  const { upper, lower } = movesAt(values, below);
  const weight = 2 ** below;
  const alone: number[] = [];
  const changes: number[] = [];
  for (let i = 0; i < upper.length; i++) {
    if (upper[i] !== 0) changes.push(i);
    else if (lower[i] !== 0) alone.push(lower[i] as number);
  }
  if (changes.length < limit.PARTING_CHANGES || alone.length < limit.PARTING_MOVES) return null;
  const usual = usualMove(alone, 0.9);
  if (usual * limit.PARTING_ROOM > weight) return null;
  // With their sign: lower bits of a clock that went up a little go down when it goes up by more than they hold.
  const [down, up] = [alone.some((step) => step < 0) ? -usual : 0, alone.some((step) => step > 0) ? usual : 0];
  const isAsEver = (step: number): boolean => step >= down && step <= up;
  const apart = changes.filter(
    (i) => Math.abs((upper[i] as number) * weight + (lower[i] as number)) > usual && isAsEver(lower[i] as number),
  );
  return { below, n: changes.length, apart: apart.length, at: apart.map((i) => i + 1), side: 'above' };
}

/** Lower bits that keep still when the upper ones change and change when those keep still. */
export function partBelow(values: Float64Array, below: number): Parting | null {
  const { upper, lower } = movesAt(values, below);
  let [n, alone] = [0, 0];
  const apart: number[] = [];
  for (let i = 0; i < upper.length; i++) {
    if (upper[i] === 0) {
      if (lower[i] !== 0) alone++;
      continue;
    }
    n++;
    if (lower[i] === 0) apart.push(i + 1);
  }
  if (n < limit.PARTING_MOVES || alone < limit.PARTING_CHANGES) return null;
  return { below, n, apart: apart.length, at: apart, side: 'below' };
}

/**
 * Whether a bit beside the value goes with its carries. `above`: it turns just when the value comes round. `below`: it falls when the
 * value rises by one and rises when it falls by one.
 */
export function goesWith(values: Float64Array, bit: Float64Array, length: number, side: 'above' | 'below'): Parting {
  const steps = differences(values);
  const turns = differences(bit);
  const whole = 2 ** length;
  const usual = usualMove(
    [...steps].filter((step) => step !== 0 && Math.abs(step) < whole / 2),
    0.9,
  );
  const isCarry = (step: number): boolean => (side === 'above' ? Math.abs(step) >= whole / 2 : Math.abs(step) === 1);
  const fits = (step: number, turn: number): boolean =>
    side === 'above' ? turn !== 0 && Math.abs(step + turn * whole) <= 2 * usual : turn === -step;
  let [n, other] = [0, 0];
  const with_: number[] = [];
  for (let i = 0; i < steps.length; i++) {
    const [step, turn] = [steps[i] as number, turns[i] as number];
    if (isCarry(step)) {
      // A value that goes on by two leaves the bit below as it was: only where that turns does it say which way.
      if (side === 'above' || turn !== 0) n++;
      if (fits(step, turn)) with_.push(i + 1);
    } else if (turn !== 0 && (side === 'above' || step === 0)) other++;
  }
  return {
    below: side === 'above' ? length : 0,
    n: side === 'above' ? n + other : n,
    apart: with_.length,
    at: with_,
    side,
  };
}

export interface Cost {
  /** Each step by the class of its size and its place in the class. */
  readonly plain: number;
  /** Steps that recur told once: what leaps to and fro between a few values costs little, whatever the reading. */
  readonly recurring: number;
}

/** What a run of values costs to write down, bits: how far each is from the one before, in classes of twice the size (a two-part code). */
export function costOf(values: Float64Array): Cost {
  const steps = differences(values);
  const classes = new Map<number, Map<number, number>>();
  for (const step of steps) {
    const size = step === 0 ? 0 : Math.sign(step) * (1 + Math.floor(Math.log2(Math.abs(step))));
    const own = classes.get(size) ?? new Map<number, number>();
    classes.set(size, own.set(step, (own.get(step) ?? 0) + 1));
  }
  let [plain, recurring] = [0, 0];
  for (const [size, own] of classes) {
    const counts = [...own.values()];
    const m = counts.reduce((sum, count) => sum + count, 0);
    const inClass = Math.max(0, Math.abs(size) - 1);
    const named = counts.reduce((sum, count) => sum - count * Math.log2(count / m), 0) + own.size * inClass;
    const classCost = m * Math.log2(steps.length / m) + 0.5 * Math.log2(steps.length + 1);
    plain += classCost + m * inClass;
    recurring += classCost + Math.min(m * inClass, named);
  }
  return { plain, recurring };
}

export const sumOfCosts = (costs: readonly Cost[]): Cost => ({
  plain: costs.reduce((sum, { plain }) => sum + plain, 0),
  recurring: costs.reduce((sum, { recurring }) => sum + recurring, 0),
});
