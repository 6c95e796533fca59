/** Limits, enables and faults by what they do, on modules made by hand, each with what must not be taken for it. */
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

/** Steps that last so long each, again and again. */
const steps =
  (values: readonly number[], lastS: number) =>
  (timeS: number): number =>
    values[Math.floor(timeS / lastS) % values.length] as number;
const asked = steps([2000, 30000, 0, 42000, 12000, 52000, 0, 36000, 22000, 60000, 8000], 3.3);
const command: SentField = { id: 0x100, sender: 'A', periodMs: 20, phaseMs: 0, at: asked };
const answer = (course: (timeS: number) => number): SentField => ({
  id: 0x200,
  sender: 'B',
  periodMs: 20,
  phaseMs: 7,
  at: (timeS) => course(timeS) + noise(timeS, 60),
});
const flag = (id: number, sender: string, at: (timeS: number) => number): SentField => ({
  ...{ id, sender, periodMs: 50, phaseMs: 13, at },
  kind: 'flag',
});
const within = (timeS: number, spans: readonly (readonly [number, number])[]): boolean =>
  spans.some(([from, to]) => timeS >= from && timeS < to);

describe('a limit', () => {
  const end = steps([65000, 26000, 65000, 41000, 18000, 65000, 33000], 11.7);
  const limit: SentField = { id: 0x300, sender: 'C', periodMs: 50, phaseMs: 3, at: (timeS) => end(timeS) / 2 };
  const held = answer((timeS) => Math.min(lagging(asked, 0.05)(timeS), end(timeS)));

  it('is what another goes along at several heights and never beyond', async () => {
    const report = await roles([command, held, limit]);
    expect(roleOf(report, 0x300)).toMatchObject({ role: 'limit' });
    expect(roleOf(report, 0x300).why).toContain('never goes beyond it');
    expect(roleOf(report, 0x200).role).toBe('feedback');
  });

  it('is none where the other does not heed it', async () => {
    const report = await roles([command, answer(lagging(asked, 0.05)), limit]);
    expect(roleOf(report, 0x300).role).toBe('unknown');
  });
});

describe('an enable and a fault', () => {
  const off = [
    [20, 26],
    [55, 61],
    [90, 97],
  ] as const;
  const stopped = answer(lagging((timeS) => (within(timeS, off) ? 0 : asked(timeS)), 0.05));
  const is = (timeS: number): number => Number(within(timeS, off));

  it('are told by who sends the flag without which nothing is done', async () => {
    const report = await roles([command, stopped, flag(0x110, 'A', (timeS) => 1 - is(timeS)), flag(0x210, 'B', is)]);
    expect(roleOf(report, 0x110)).toMatchObject({ role: 'enable' });
    expect(roleOf(report, 0x110).why).toContain('acts only while it is 1');
    expect(roleOf(report, 0x210)).toMatchObject({ role: 'fault' });
  });

  it('are not told of flags at other times, nor of one time alone', async () => {
    const late = (timeS: number): number => is(timeS - 9);
    // Its other time falls where nothing is asked for.
    const once = (timeS: number): number =>
      Number(
        within(timeS, [
          [20, 26],
          [6.9, 9.5],
        ]),
      );
    const report = await roles([
      command,
      stopped,
      flag(0x110, 'A', (timeS) => 1 - late(timeS)),
      flag(0x210, 'B', late),
      flag(0x220, 'B', once),
    ]);
    for (const id of [0x110, 0x210, 0x220]) expect(roleOf(report, id).role).toBe('state');
  });
});

describe('a fault', () => {
  it('is what stands only while a value of its sender shows no data', async () => {
    const fails = [
      [15, 18],
      [44, 49],
      [80, 83],
    ] as const;
    const value = lagging(steps([9000, 11000, 10000, 12500], 7), 2);
    const sensor: SentField = {
      ...{ id: 0x400, sender: 'D', periodMs: 50, phaseMs: 1 },
      at: (timeS) => (within(timeS, fails) ? 65535 : value(timeS)),
    };
    const usable = flag(0x410, 'D', (timeS) => Number(!within(timeS, fails)));
    const other = flag(0x420, 'D', (timeS) => Number(!within(timeS - 6, fails)));
    const report = await roles([sensor, usable, other]);
    expect(roleOf(report, 0x410)).toMatchObject({ role: 'fault' });
    expect(roleOf(report, 0x410).why).toContain('shows its highest code');
    expect(roleOf(report, 0x420).role).toBe('state');
  });
});
