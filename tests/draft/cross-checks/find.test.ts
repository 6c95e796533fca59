/** Laws between fields made by hand: each is found where it holds, and not where the like does not. */
import { describe, expect, it } from 'vitest';
import { findMeaning } from '../../../src/draft/meaning.ts';
import type { CrossCheck } from '../../../src/draft/cross-checks/types.ts';
import { field, motor, power } from '../roles/motor.ts';
import { hexOf, send, type SentField } from '../roles/two-senders.ts';

const STEP_S = 0.02;
/** Sum over time of a course, by steps. */
function summing(course: (timeS: number) => number, start: number, share: number): (timeS: number) => number {
  const sums: number[] = [start];
  for (let k = 1; k * STEP_S < 125; k++) sums.push((sums[k - 1] as number) + share * STEP_S * course(k * STEP_S));
  return (timeS) => sums[Math.max(0, Math.min(sums.length - 1, Math.floor(timeS / STEP_S)))] as number;
}

const level = summing((timeS) => -power(timeS), 30000, 0.04);

const fields: SentField[] = [...motor, field(0x410, 'D', 100, level)];
const { checks } = (await findMeaning({ ...send(fields), seed: 1 }, {})).checks;
const told = (check: CrossCheck['check']): string[][] =>
  checks.filter((one) => one.check === check).map(({ members }) => members.map(({ place }) => place.id));

describe('crossCheck', () => {
  it('finds the two speeds of one motion by their fixed ratio', () => {
    const ratio = checks.find(({ check }) => check === 'constant-ratio');
    expect(ratio?.members.map(({ place }) => place.id)).toEqual([hexOf(0x210), hexOf(0x300)]);
    expect(ratio?.figures['ratio']).toBeCloseTo(1 / 3.7, 2);
    expect(ratio?.residual).toBeLessThan(0.01);
    expect(ratio?.q).toBeLessThan(0.05);
  });

  it('finds the current that goes with torque times speed', () => {
    expect(told('power-balance').map((ids) => ids.at(-1))).toContain(hexOf(0x400));
    expect(told('power-balance').flat()).not.toContain(hexOf(0x500));
  });

  it('finds the level that goes with the sum of that current', () => {
    expect(told('charge-sum')).toContainEqual([hexOf(0x400), hexOf(0x410)]);
  });

  it('claims nothing of what only wanders', () => {
    expect(checks.flatMap(({ members }) => members.map(({ place }) => place.id))).not.toContain(hexOf(0x500));
  });

  it('says what it leaves open, over how many instants, in words with figures', () => {
    for (const { why, n, residual } of checks) {
      expect(n).toBeGreaterThan(99);
      expect(residual).toBeGreaterThanOrEqual(0);
      expect(why).toMatch(/left open over \d+ instants, q /);
    }
  });
});
