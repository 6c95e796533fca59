/**
 * Scorecard of actions that a recording cannot tell apart, over machines of the evidence simulator: is the planted pair named, with the recording
 * that would tell, and are actions left alone that only met by chance? Needs the marks alone, on the person's own clock.
 */
import { describe, expect, it } from 'vitest';
import { isTold, togetherByAction } from '../../src/actions/separation.ts';
import { makeEvidenceVehicle } from './evidence/make-evidence.ts';
import { seedsFor } from './support/vehicles.ts';

const asked = process.env['LOOMSCRIBE_SEED'] !== undefined;
const { base, seeds } = seedsFor('separation', asked ? 24 : 6);

/** Whether the one is said to have been done with the other, with a recording that would tell. */
const isOpen = (together: ReturnType<typeof togetherByAction>, action: string, other: string): boolean =>
  (together.get(action) ?? []).some((one) => one.action === other && !isTold(one) && one.next.includes(other));

describe(`actions that cannot be told apart, on ${seeds.length} machines with such a pair and as many without, seeds from ${base}`, () => {
  it('are named with the recording that would tell, and others are not', { timeout: 400_000 }, () => {
    const score = { planted: 0, named: 0, actions: 0, others: 0 };
    for (const confounded of [true, false])
      for (const seed of seeds) {
        const { marks, truth } = makeEvidenceVehicle(seed, { confounded });
        const together = togetherByAction(marks.marks);
        for (const { action, confoundedWith } of truth.actions) {
          const named = (together.get(action) ?? []).filter((one) => !isTold(one));
          score.actions++;
          score.others += new Set(named.map((one) => one.action).filter((one) => !confoundedWith.includes(one))).size;
          for (const other of confoundedWith.filter((one) => one > action)) {
            score.planted++;
            const [one, two] = [isOpen(together, action, other), isOpen(together, other, action)];
            if (one || two) score.named++;
          }
        }
      }
    const { planted, named, actions, others } = score;
    console.log(
      `separation: ${named} of ${planted} planted confounds named with the recording that tells (aim 0.9); ` +
        `${others} other pairs named over ${actions} actions`,
    );
    expect(planted).toBeGreaterThanOrEqual(seeds.length);
    expect(named / planted).toBeGreaterThanOrEqual(0.8);
    expect(others / actions).toBeLessThanOrEqual(0.1);
  });
});
