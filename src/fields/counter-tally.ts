/** How well the values keep to a rule: steps as predicted, jumps over lost frames, rounds, and the pace at which it steps. */
import type { Rule } from './counter-range.ts';

/** Frames for which a counter is held at most. */
export const EVERY_MAX = 16;

/** A jump over more of its range than this is no gap in the log that fell upon its coming round. */
const ROUND_SHARE = 0.25;

export interface Tally {
  right: number;
  steps: number;
  lost: number;
  /** Whether most jumps lead from a decimal digit 9 to 0, with as much in the next digit: no gaps of the log. */
  isDecimal: boolean;
  rounds: number;
  /** Of these, rounds from one end to the other, as predicted. */
  whole: number;
  /** Right steps that came early: of the frames for which it holds the log lost some. */
  early: number;
}

/** The value that follows one, also where that lies outside the range. */
function dueAfter(before: number, { step, min, max }: Rule, modulus: number): number {
  const next = before + step;
  if (before >= min && before <= max && next >= min && next <= max) return next;
  return min + ((((next - min) % modulus) + modulus) % modulus);
}

export function tallyRule(values: Uint32Array, joined: Uint8Array, rule: Rule, every: number): Tally {
  const { step, min, max } = rule;
  const modulus = max - min + 1;
  const sign = Math.sign(step);
  const farthest = Math.max(Math.abs(step), ROUND_SHARE * modulus);
  let [right, steps, lost, rounds, wholeRounds, early, held, digits] = [0, 0, 0, 0, 0, 0, 0, 0];
  let whole = false;
  let now = values[0] as number;
  for (let row = 1; row < values.length; row++) {
    const before = now;
    now = values[row] as number;
    if (joined[row] === 0) {
      held = 0;
      whole = false;
      continue;
    }
    held++;
    if (now === before) {
      // One that stays too long is one wrong step for each that it missed, not one a frame.
      if (held % every !== 0) continue;
      steps++;
      // A toggle shows the same again where one frame is lost: that is one wrong step, and the next is right.
      if (every === 1) held = 0;
      continue;
    }
    const isDue = now === dueAfter(before, rule, modulus);
    steps++;
    if (isDue && (!whole || held === every)) right++;
    else if (isDue && held === every - 1) early++;
    else if (now >= min && now <= max && (now - before) % step === 0) {
      lost++;
      if (now - before === DECIMAL_JUMP && before % DIGIT === 9) digits++;
    }
    if (now > before !== step > 0 && ((now - before) * sign + modulus) % modulus <= farthest) {
      rounds++;
      if (isDue) wholeRounds++;
    }
    held = 0;
    whole = true;
  }
  const isDecimal = digits >= DIGITS_MIN && digits >= DIGITS_SHARE * lost;
  return { right, steps, lost, isDecimal, rounds, whole: wholeRounds, early };
}
const DIGIT = 16;
const DECIMAL_JUMP = 7;
const DIGITS_MIN = 4;
const DIGITS_SHARE = 0.75;

/** The usual number of frames from one move to the next. */
export function usualHold(values: Uint32Array, joined: Uint8Array): number {
  const holds = new Uint32Array(EVERY_MAX + 2);
  let held = 0;
  for (let row = 1; row < values.length; row++) {
    held = joined[row] === 0 ? 0 : held + 1;
    if (joined[row] === 0 || values[row] === values[row - 1]) continue;
    holds[Math.min(held, EVERY_MAX + 1)]!++;
    held = 0;
  }
  let best = 1;
  for (let k = 1; k < holds.length; k++) if ((holds[k] as number) > (holds[best] as number)) best = k;
  return best;
}
