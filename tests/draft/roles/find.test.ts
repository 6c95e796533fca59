/** Who commands and who obeys, on modules made by hand, each rule once with what must not be taken for it. */
import { describe, expect, it } from 'vitest';
import { findRoles, prepareForRoles } from '../../../src/draft/roles/find.ts';
import type { RoleFinding, RoleReport } from '../../../src/draft/roles/types.ts';
import { hexOf, lagging, noise, send, wandering, type SentField } from './two-senders.ts';

const roles = async (fields: readonly SentField[]): Promise<RoleReport> => {
  const sent = { ...send(fields), seed: 1 };
  return findRoles(sent, await prepareForRoles(sent, {}), {});
};
const roleOf = ({ roles: all }: RoleReport, id: number): RoleFinding =>
  all.find((one) => one.id === hexOf(id)) as RoleFinding;

const wanted = wandering(7, 9000, 8000, 40000);
const command: SentField = { id: 0x100, sender: 'A', periodMs: 10, phaseMs: 0, at: wanted };
const aside = wandering(31, 9000, 8000, 40000);
/** What a person moves, among other reasons of the command. */
const pedal: SentField = {
  id: 0x080,
  sender: 'P',
  periodMs: 10,
  phaseMs: 5,
  at: (timeS) => 0.7 * wanted(timeS + 0.05) + 0.3 * aside(timeS),
};
const answered = lagging(wanted, 0.06);
const answer: SentField = {
  id: 0x200,
  sender: 'B',
  periodMs: 10,
  phaseMs: 3,
  at: (timeS) => answered(timeS) + noise(timeS, 30),
};

describe('findRoles', () => {
  it('calls what leads a command and what answers it with a memory its feedback, with the lag', async () => {
    const report = await roles([pedal, command, answer]);
    expect(roleOf(report, 0x100)).toMatchObject({ role: 'command' });
    expect(roleOf(report, 0x200)).toMatchObject({ role: 'feedback' });
    const follow = report.follows.find(({ leader, follower }) => leader.id === '0x100' && follower.id === '0x200');
    expect(follow?.way).toBe('answer');
    // A first-order lag of 60 ms delays by 60 ms.
    expect(follow?.lagMs).toBeGreaterThan(50);
    expect(follow?.lagMs).toBeLessThan(70);
    expect(follow?.lagMsInterval[0]).toBeGreaterThan(40);
    expect(roleOf(report, 0x100).why).toContain('follows it by');
  });

  it('does not depend on the order of the frames, nor on the sign of the answer', async () => {
    const turned = { ...answer, at: (timeS: number) => 50000 - answer.at(timeS) };
    const report = await roles([turned, pedal, command]);
    expect(roleOf(report, 0x100).role).toBe('command');
    expect(roleOf(report, 0x200).role).toBe('feedback');
  });

  it('does not say whether what glides and has nothing before it is a command or what a person moves', async () => {
    const report = await roles([command, answer]);
    expect(roleOf(report, 0x100).role).toBe('unknown');
    expect(roleOf(report, 0x100).why).toContain('nothing goes before it: a command, or what a person moves');
    expect(roleOf(report, 0x200).role).toBe('feedback');
  });

  it('knows the command, whatever goes before it, where the part repeats it', async () => {
    const repeated: SentField = { ...command, id: 0x210, sender: 'B', phaseMs: 7, at: (timeS) => wanted(timeS - 0.03) };
    const report = await roles([command, answer, repeated]);
    expect(roleOf(report, 0x100).role).toBe('command');
    expect(roleOf(report, 0x210).role).toBe('echo');
  });

  it('claims nothing of two fields of one sender: a part sends no command to itself', async () => {
    const report = await roles([command, { ...answer, sender: 'A' }]);
    expect(report.pairs).toBe(0);
    expect(roleOf(report, 0x100).role).toBe('unknown');
    expect(roleOf(report, 0x200).role).toBe('unknown');
  });

  it('calls a later copy of what nothing goes before neither feedback nor echo: it may be what a lever commands', async () => {
    const copy: SentField = { ...command, id: 0x300, sender: 'C', phaseMs: 4, at: (timeS) => wanted(timeS - 0.07) / 2 };
    const report = await roles([command, copy]);
    expect(roleOf(report, 0x300)).toMatchObject({ role: 'unknown' });
    expect(roleOf(report, 0x100).role).not.toBe('command');
  });

  it('calls the echo of an answer an echo, and the answer no command', async () => {
    const echo: SentField = { ...answer, id: 0x300, sender: 'A', periodMs: 20, at: (timeS) => answer.at(timeS - 0.09) };
    const report = await roles([pedal, command, answer, echo]);
    expect(roleOf(report, 0x100).role).toBe('command');
    expect(roleOf(report, 0x200).role).toBe('feedback');
    expect(roleOf(report, 0x300).role).toBe('echo');
  });

  it('tells nothing of a lag within one refresh where both dither, as two sensors of one thing do', async () => {
    const sensor = { ...command, at: (timeS: number) => wanted(timeS) + noise(timeS + 5, 60) };
    const smoothed = lagging(wanted, 0.04);
    const slow = { ...answer, periodMs: 100, at: (timeS: number) => smoothed(timeS) + noise(timeS, 300) };
    const report = await roles([sensor, slow]);
    expect(report.follows).toEqual([]);
    expect(roleOf(report, 0x100)).toMatchObject({ role: 'unknown', why: 'not enough evidence for a role' });
  });

  it('tells nothing of two courses that have nothing to do with each other', async () => {
    const other = { ...answer, at: lagging(wandering(1234, 9000, 8000, 40000), 0.06) };
    const report = await roles([command, other]);
    expect(report.follows).toEqual([]);
  });

  it('does not take for a command what is a sum over time of something else', async () => {
    let speed = 20000;
    const speeds = Array.from({ length: 13000 }, (_, k) => (speed += ((wanted(k / 100) - 24000) * 0.01) / 2));
    const speedAt = (timeS: number): number => speeds[Math.max(0, Math.floor(timeS * 100))] as number;
    const sensor: SentField = { id: 0x400, sender: 'B', periodMs: 10, phaseMs: 2, at: speedAt };
    const smoothed: SentField = { id: 0x500, sender: 'D', periodMs: 10, phaseMs: 6, at: lagging(speedAt, 0.15) };
    const report = await roles([command, sensor, smoothed]);
    expect(report.follows.some(({ leader, way }) => leader.id === '0x400' && way === 'answer')).toBe(true);
    expect(roleOf(report, 0x400).role).toBe('feedback');
    expect(roleOf(report, 0x500).role).not.toBe('command');
  });

  it('calls the nearest leader the command, and what only heads the chain a state', async () => {
    const pedal = wandering(99, 60000, 0, 30000);
    const asked = lagging(pedal, 0.12);
    const report = await roles([
      { id: 0x100, sender: 'P', periodMs: 10, phaseMs: 0, at: pedal },
      { id: 0x110, sender: 'A', periodMs: 10, phaseMs: 3, at: asked },
      { id: 0x200, sender: 'B', periodMs: 10, phaseMs: 7, at: lagging(asked, 0.05) },
    ]);
    expect(roleOf(report, 0x110).role).toBe('command');
    expect(roleOf(report, 0x200).role).toBe('feedback');
    expect(roleOf(report, 0x100).role).toBe('state');
  });

  it('takes what is set to a few values now and then for a command, also where it was taken for states', async () => {
    const set = (timeS: number): number => 1000 * [2, 5, 3, 7, 4, 6, 2, 8][Math.floor(timeS / 6.3) % 8]!;
    const done = lagging(set, 0.25);
    for (const kind of ['number', 'states'] as const) {
      const report = await roles([
        { id: 0x120, sender: 'A', periodMs: 50, phaseMs: 0, at: set, kind },
        { id: 0x220, sender: 'B', periodMs: 20, phaseMs: 3, at: (timeS) => done(timeS) + noise(timeS, 40) },
      ]);
      expect(roleOf(report, 0x120).role).toBe('command');
      expect(roleOf(report, 0x220).role).toBe('feedback');
    }
  });

  const settings = (timeS: number): number =>
    1000 * [2, 50, 20, 60, 30, 50, 0, 40, 10, 60][Math.floor(timeS / 6.3) % 10]!;

  it('knows the command of an answer that a limit holds back for most of the time', async () => {
    const free = lagging(settings, 0.15);
    const held: SentField = { ...answer, id: 0x220, at: (timeS) => Math.min(free(timeS), 9000) };
    const report = await roles([{ ...command, id: 0x120, at: settings }, held]);
    expect(roleOf(report, 0x120).role).toBe('command');
    expect(roleOf(report, 0x220).role).toBe('feedback');
    expect(roleOf(report, 0x120).why).toContain('each time to a size of its own');
    // The same settings moved in time go before the answer no more: it is not told of what is not answered.
    const elsewhere = await roles([{ ...command, id: 0x120, at: (timeS) => settings(timeS + 9.1) }, held]);
    expect(elsewhere.follows).toEqual([]);
  });

  it('takes nothing for a sum over time of what chance brought beside it', async () => {
    const slowly = (id: number, sender: string): SentField => {
      const course = wandering(id, 9000, 8000, 40000);
      return { id, sender, periodMs: 100, phaseMs: id % 100, at: (timeS) => course(timeS / 8) };
    };
    const report = await roles(Array.from({ length: 40 }, (_, k) => slowly(0x500 + k, `S${k}`)));
    expect(report.roles.filter(({ role }) => role !== 'unknown')).toEqual([]);
  });

  it('says the same again for the same seed', async () => {
    expect(await roles([command, answer])).toEqual(await roles([command, answer]));
  });
});
