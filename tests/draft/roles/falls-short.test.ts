/** What is told by an answer that stays behind what is asked for, on modules made by hand, each with what must not be taken for it. */
import { describe, expect, it } from 'vitest';
import { findRoles, prepareForRoles } from '../../../src/draft/roles/find.ts';
import type { RoleFinding, RoleReport } from '../../../src/draft/roles/types.ts';
import { hexOf, lagging, noise, send, type SentField } from './two-senders.ts';

const roles = async (fields: readonly SentField[]): Promise<RoleReport> => {
  const sent = { ...send(fields), seed: 1 };
  return findRoles(sent, await prepareForRoles(sent, {}), {});
};
const roleOf = ({ roles: all }: RoleReport, id: number): RoleFinding =>
  all.find((one) => one.id === hexOf(id)) as RoleFinding;

/** So many values out of some, never twice the same in a row, in an order that does not come again. */
function drawn(values: readonly number[], n: number): number[] {
  const out: number[] = [];
  let state = 11;
  while (out.length < n) {
    state = (state * 16807) % 2147483647;
    const next = values[state % values.length] as number;
    if (next !== out.at(-1)) out.push(next);
  }
  return out;
}
const steps =
  (values: readonly number[], lastS: number) =>
  (timeS: number): number =>
    values[Math.floor(timeS / lastS) % values.length] as number;
const field = (id: number, sender: string, at: (timeS: number) => number, periodMs = 20): SentField => ({
  ...{ id, sender, periodMs, at },
  phaseMs: id % 17,
});

/** Pressed and let go again and again: a lever, what is asked for by it a little later, and what is done a little later still, without a noise or a memory. */
const pressed = lagging(steps(drawn([0, 40000, 0, 25000, 0, 52000, 0, 33000, 0, 60000], 70), 1.9), 0.12);
const lever = field(0x080, 'L', (timeS) => pressed(timeS) + noise(timeS, 40));
const asked = field(0x100, 'A', (timeS) => pressed(timeS - 0.07));
const doing = (timeS: number): number => pressed(timeS - 0.15);

describe('an answer that is held back', () => {
  const end = steps([65000, 30000, 65000, 18000, 65000], 9.1);

  it('is no copy, though nothing but the end of it differs', async () => {
    const report = await roles([lever, asked, field(0x200, 'B', (timeS) => Math.min(doing(timeS), end(timeS)))]);
    expect(roleOf(report, 0x100)).toMatchObject({ role: 'command' });
    expect(roleOf(report, 0x200)).toMatchObject({ role: 'feedback' });
    expect(roleOf(report, 0x200).why).toContain('held back below it');
    const follow = report.follows.find(({ leader, follower }) => leader.id === '0x100' && follower.id === '0x200');
    // By the construction: 80 ms.
    expect(follow?.lagMs).toBeGreaterThan(60);
    expect(follow?.lagMs).toBeLessThan(110);
  });

  it('is a copy, or not told, where it does all of it', async () => {
    const report = await roles([lever, asked, field(0x200, 'B', doing)]);
    expect(roleOf(report, 0x200).role).not.toBe('feedback');
  });

  it('is none where it does more than is asked for as often', async () => {
    const other = (timeS: number): number => (steps([1, 0.6, 1, 1.4, 0.7, 1, 1.5], 7.3)(timeS) * doing(timeS)) / 2;
    const report = await roles([lever, asked, field(0x200, 'B', other)]);
    expect(roleOf(report, 0x200).role).not.toBe('feedback');
    expect(roleOf(report, 0x100).role).not.toBe('command');
  });
});

describe('what a part shows of its command', () => {
  it('is what it heard where it is exact and earlier, and what it does where it is later', async () => {
    const heard = field(0x210, 'B', (timeS) => pressed(timeS - 0.1));
    const later = field(0x200, 'B', (timeS) => pressed(timeS - 0.45));
    const report = await roles([lever, asked, heard, later]);
    expect(roleOf(report, 0x100).role).toBe('command');
    expect(roleOf(report, 0x210).role).toBe('echo');
    expect(roleOf(report, 0x200).role).toBe('feedback');
  });
});

describe('what is set', () => {
  const set = steps(drawn([0, 20000, 40000, 60000], 40), 3.3);
  /** Goes there by so much a second. */
  const course = [set(0)];
  for (let k = 1; k < 6100; k++) {
    const last = course[k - 1] as number;
    course.push(last + Math.max(-1200, Math.min(1200, set(Math.max(0, k * 0.02 - 0.03)) - last)));
  }
  const answer = (timeS: number): number => course[Math.floor(timeS / 0.02)] as number;

  it('is a command where the other goes through what lies between, and none where it only says it again', async () => {
    const moving = await roles([field(0x100, 'A', set), field(0x200, 'B', answer)]);
    expect(roleOf(moving, 0x100).role).toBe('command');
    expect(roleOf(moving, 0x200).role).toBe('feedback');
    const again = await roles([field(0x100, 'A', set), field(0x200, 'B', (timeS) => set(Math.max(0, timeS - 0.1)))]);
    expect(roleOf(again, 0x100).role).not.toBe('command');
    expect(roleOf(again, 0x200).role).not.toBe('feedback');
  });
});

describe('a limit', () => {
  const end = steps([52000, 21000, 52000, 34000, 14000, 52000, 27000], 11.7);
  const held = field(0x200, 'B', (timeS) => Math.min(doing(timeS), end(timeS)) + noise(timeS, 60));

  it('is told whatever its raw zero is', async () => {
    const limit = field(0x300, 'C', (timeS) => 9000 + end(timeS) / 2, 50);
    const report = await roles([lever, asked, held, limit]);
    expect(roleOf(report, 0x300)).toMatchObject({ role: 'limit' });
  });

  it('is none where it stood so at other times', async () => {
    const limit = field(0x300, 'C', (timeS) => 9000 + end(timeS + 17) / 2, 50);
    const report = await roles([lever, asked, held, limit]);
    expect(roleOf(report, 0x300).role).not.toBe('limit');
  });
});

describe('an enable', () => {
  const lagged = lagging(pressed, 0.05);

  it('is no flag that is set only after something acts', async () => {
    const report = await roles([
      lever,
      asked,
      field(0x200, 'B', (timeS) => lagged(timeS) + noise(timeS, 60)),
      { ...field(0x110, 'A', (timeS) => Number(doing(timeS - 0.5) > 3000), 50), kind: 'flag' },
    ]);
    expect(roleOf(report, 0x110).role).toBe('state');
  });
});
