/** Whether the bits at one place count: the rule that explains most of their steps, held to how many of these it must explain. */
import type { Placement } from '../frames/bits.ts';
import { guessRule, rangesOf, runsThroughEnough } from './counter-range.ts';
import { EVERY_MAX, tallyRule, usualHold } from './counter-tally.ts';
import { readShort, type PayloadRows } from './payload-rows.ts';

export interface CounterFinding extends Placement {
  readonly step: number;
  readonly every: number;
  readonly min: number;
  readonly max: number;
  /** Steps that were as predicted, and all steps looked at. */
  readonly right: number;
  readonly steps: number;
  /** Jumps of a whole multiple of the step: frames that the log lost, at least. */
  readonly lost: number;
  /** Times it came round, and of these from one end to the other, none lost. */
  readonly rounds: number;
  readonly whole: number;
}

/** Steps without which nothing is said. */
export const STEPS_MIN = 12;

/** Of all steps between frames this share must be as predicted; more are lost or reset only in a broken log. */
const RIGHT_MIN = 0.95;

/** Gaps in a log are few: so many jumps are excused where a slow frame has few steps in all, if this share is right nevertheless. */
const LOSSES = 6;
const RIGHT_LEAST = 0.85;

/** Where a value is held for some frames each lost one makes a step early, and none makes one late, as a timer does as often. */
const RIGHT_LEAST_HELD = 0.75;

/** [count] unsigned. */
export const valuesOf = (rows: PayloadRows, placement: Placement): Uint32Array =>
  readShort(rows, placement, new Uint32Array(rows.count));

/** Counters step by small amounts; larger ones arise where two counters are read as one. */
const STEP_MAX = 31;

/** Below this share of right steps no wider reading of the same bits can be a counter. */
const HOPELESS_SHARE = 0.5;

/** The lowest bits of a step of 2 modulo 15 look irregular on their own. */
const SHORT_BITS = 3;

/** `hopeless`: nor does any wider reading of the same bits. */
export function tryPlacement(rows: PayloadRows, placement: Placement): CounterFinding | 'hopeless' | null {
  const { length } = placement;
  const values = valuesOf(rows, placement);
  const guess = guessRule(values, rows.joined, length);
  if (!guess || Math.abs(guess.step) > STEP_MAX) return 'hopeless';
  const every = usualHold(values, rows.joined);
  if (every > EVERY_MAX) return null;
  const withoutHope = length > SHORT_BITS ? 'hopeless' : null;
  if (guess.explained < HOPELESS_SHARE * guess.changes) return withoutHope;
  const tallied = rangesOf(values, rows.joined, guess, length).map((rule) => ({
    rule,
    tally: tallyRule(values, rows.joined, rule, every),
  }));
  const { rule, tally } = tallied.reduce((best, each) => (each.tally.right > best.tally.right ? each : best));
  if (tally.right < HOPELESS_SHARE * tally.steps) return withoutHope;
  if (length > 1 && rule.max < 2 ** (length - 1)) return null;
  // An even step with an even modulus would leave the lowest bit still.
  if (rule.step % 2 === 0 && (rule.max - rule.min) % 2 === 1) return null;
  if (!runsThroughEnough(rule, length) || tally.isDecimal) return null;
  const excused = Math.min(tally.lost, LOSSES) + tally.early;
  if (tally.steps < STEPS_MIN || tally.right + excused < RIGHT_MIN * tally.steps) return null;
  if (tally.right < (every > 1 ? RIGHT_LEAST_HELD : RIGHT_LEAST) * tally.steps) return null;
  const { right, steps, rounds, whole } = tally;
  const lost = tally.lost + tally.early;
  return { ...placement, ...rule, every, right, steps, lost, rounds, whole };
}
