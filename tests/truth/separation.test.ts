/**
 * Scorecard of actions that a recording cannot tell apart, over machines of the evidence simulator: is the planted pair named, with the recording
 * that would tell, and are actions left alone that only met by chance? Needs the marks alone, on the person's own clock.
 */
import { describe, expect, it } from 'vitest';
import { isTold, togetherByAction } from '../../src/actions/separation.ts';
import type { Together } from '../../src/actions/types.ts';
import { makeEvidenceVehicle, type EvidenceTruth } from './evidence/make-evidence.ts';
import { seedsFor } from './support/vehicles.ts';

const asked = process.env['LOOMSCRIBE_SEED'] !== undefined;
const { base, seeds } = seedsFor('separation', asked ? 24 : 6);
const NEAR_S = 3;

/** Whether what was really done lay as near, half of the time at least: then it is true of that day, planted or not. */
function wereTogether({ actions }: EvidenceTruth, action: string, { action: other, own, event }: Together): boolean {
  const timesOf = (name: string, edge: Together['own']): number[] =>
    (actions.find((one) => one.action === name)?.doings ?? []).flatMap(({ startS, endS }) =>
      edge === 'start' ? [startS] : endS === null ? [] : [endS],
    );
  const [mine, others] = [timesOf(action, own), timesOf(other, event)];
  const near = mine.filter((atS) => others.some((otherS) => Math.abs(otherS - atS) <= NEAR_S));
  return near.length >= mine.length / 2;
}

/** Whether the one is said to have been done with the other, with a recording that would tell. */
const isOpen = (together: ReturnType<typeof togetherByAction>, action: string, other: string): boolean =>
  (together.get(action) ?? []).some((one) => one.action === other && !isTold(one) && one.next.includes(other));

describe(`actions that cannot be told apart, on ${seeds.length} machines with such a pair and as many without, seeds from ${base}`, () => {
  it('are named with the recording that would tell, and others are not', { timeout: 400_000 }, () => {
    const score = { planted: 0, named: 0, actions: 0, others: 0, untrue: 0 };
    for (const confounded of [true, false])
      for (const seed of seeds) {
        const { marks, truth } = makeEvidenceVehicle(seed, { confounded });
        const together = togetherByAction(marks.marks);
        for (const { action, confoundedWith } of truth.actions) {
          const named = (together.get(action) ?? []).filter((one) => !isTold(one));
          score.actions++;
          const others = named.filter((one) => !confoundedWith.includes(one.action));
          score.others += others.length;
          score.untrue += others.filter((one) => !wereTogether(truth, action, one)).length;
          for (const other of confoundedWith.filter((one) => one > action)) {
            score.planted++;
            const [one, two] = [isOpen(together, action, other), isOpen(together, other, action)];
            if (one || two) score.named++;
          }
        }
      }
    const { planted, named, actions, others, untrue } = score;
    console.log(
      `separation: ${named} of ${planted} planted confounds named with the recording that tells (aim 0.9); ` +
        `${others} others named over ${actions} actions, ${untrue} of them not true of that day`,
    );
    expect(planted).toBeGreaterThanOrEqual(seeds.length);
    expect(named / planted).toBeGreaterThanOrEqual(0.8);
    expect(untrue / actions).toBeLessThanOrEqual(0.02);
  });
});
