/** What may be said of pairs that were judged, and which of those that lead command: each rule by itself, on figures made by hand. */
import { describe, expect, it } from 'vitest';
import { commandsOf, type Known } from '../../../src/draft/roles/commands.ts';
import type { Judged } from '../../../src/draft/roles/judged.ts';
import type { Prepared } from '../../../src/draft/roles/prepared.ts';
import { toldOf, type Told } from '../../../src/draft/roles/told.ts';

/** shape: what its course looks like, as its signature tells it. */
const prepared = (sender: string | null, shape: readonly number[] = [1, 0]): Prepared =>
  ({
    sender,
    likelySender: sender,
    goesBySteps: false,
    candidate: { stream: {} },
    field: { quantum: 1 },
    levels: Float32Array.from(shape),
    values: Float32Array.from(shape),
  }) as unknown as Prepared;

/** Something measured that follows something measured by 60 ms, as a first-order lag of 50 ms does. */
const answer: Judged = {
  leader: prepared('A'),
  follower: prepared('B'),
  best: { lagUs: 60_000, constantUs: 50_000, n: 3000, scale: 1, unexplained: 0.01, residualSd: 4 },
  spread: { lagUs: [50_000, 70_000], constantUs: [30_000, 70_000], gain: [1.5, 2] },
  sizes: 'one',
  short: null,
  openInAll: 0.01,
  own: { rests: 0, stirred: 0 },
  copyResidualSd: 5,
  tellingUs: 10_000,
  p: 1e-8,
  changes: 0.9,
  dither: 4,
  ditherPassedOn: 4,
  missed: 0,
  leaderDither: 4,
  leaderRounding: 0.3,
  leaderPace: 100,
  whileWaiting: 0,
};
const ways = (judged: Judged, pairs = 1): string[] => toldOf([judged], pairs, () => 0).map(({ way }) => way);

describe('what follows what', () => {
  it('is an answer where it has a memory that no pure delay explains', () => {
    expect(ways(answer)).toEqual(['answer']);
  });

  it('is no copy where each setting was answered to a size of its own', () => {
    const set = { leaderDither: 0, leader: { ...answer.leader, goesBySteps: true } };
    const plain = { ...answer, ...set, spread: { ...answer.spread, gain: [1, 1.1] as const } };
    expect(ways(plain)).toEqual(['copy']);
    expect(ways({ ...plain, sizes: 'own' })).toEqual(['answer']);
  });

  it('is a copy where a memory gains hardly anything and what is left is dither', () => {
    expect(ways({ ...answer, spread: { ...answer.spread, gain: [1.1, 1.3] } })).toEqual(['copy']);
  });

  it('is neither where what is left is excused by waiting, and is much all the same', () => {
    const loose = { ...answer.best, unexplained: 0.05, residualSd: 9 };
    const judged = { ...answer, best: loose, openInAll: 0.05, copyResidualSd: 9, whileWaiting: 20 };
    expect(ways({ ...judged, spread: { ...answer.spread, gain: [1.1, 1.3] } })).toEqual(['untold']);
  });

  it('is not told where chance does as well among so many pairs', () => {
    expect(ways({ ...answer, p: 0.01 }, 3)).toEqual(['answer']);
    expect(ways({ ...answer, p: 0.01 }, 300)).toEqual([]);
  });

  it('is not told where the lag may be none, or is no longer than a refresh', () => {
    expect(ways({ ...answer, spread: { ...answer.spread, lagUs: [-5000, 70_000] } })).toEqual([]);
    expect(ways({ ...answer, tellingUs: 80_000 })).toEqual([]);
  });
});

describe('which of those that lead commands', () => {
  const told = (
    leader: Prepared,
    follower: Prepared,
    figures: Partial<Told['best']> = {},
    way: Told['way'] = 'answer',
  ): Told => ({
    ...answer,
    leader,
    follower,
    best: { ...answer.best, ...figures },
    openInAll: figures.unexplained ?? answer.best.unexplained,
    q: 0.001,
    way,
    mark: way === 'answer' ? 'memory' : null,
  });
  const known: Known = { gathers: () => null, touched: () => false, isLed: () => true };
  const leadersOf = (all: readonly Told[], more: Partial<Known> = {}): Prepared[] =>
    commandsOf(all, { ...known, ...more }).commands.map(({ leader }) => leader);
  const source = prepared('A');
  const repeated = prepared('B');
  const obeying = prepared('B', [0, 1]);

  it('is not what a part says again of its command', () => {
    const echo = told(source, repeated, { lagUs: 20_000 }, 'copy');
    const all = [told(source, obeying), told(repeated, obeying), echo];
    expect(leadersOf(all)).toEqual([source]);
    // A lever that a person moves commands nothing: what says it again does.
    expect(leadersOf(all, { isLed: (field) => field !== source })).toContain(repeated);
  });

  it('is not what shows the same later', () => {
    const all = [told(source, obeying, { lagUs: 60_000 }), told(repeated, obeying, { lagUs: 30_000 })];
    expect(leadersOf(all)).toEqual([source]);
    const alike = [
      told(source, obeying, { lagUs: 60_000 }),
      told(prepared('B', [0.6, 0.8]), obeying, { lagUs: 30_000 }),
    ];
    expect(leadersOf(alike)).toHaveLength(2);
  });

  it('is not what glides and has nothing before it, unless the part repeats it or something leads more loosely', () => {
    const alone = [told(source, obeying)];
    const first: Partial<Known> = { isLed: () => false };
    expect(leadersOf(alone, first)).toEqual([]);
    expect(commandsOf(alone, { ...known, ...first }).open).toHaveLength(1);
    expect(leadersOf([...alone, told(source, repeated, {}, 'copy')], first)).toEqual([source]);
    const pedal = told(prepared('P', [0.6, 0.8]), obeying, { lagUs: 80_000, unexplained: 0.08 }, 'untold');
    expect(leadersOf([...alone, pedal], first)).toEqual([source]);
    expect(leadersOf([...alone, { ...pedal, best: { ...pedal.best, lagUs: 40_000 } }], first)).toEqual([]);
  });

  it('is what says again a lever, also where its own frames do not show the memory', () => {
    const again = prepared('C');
    const all = [
      told(source, obeying, { lagUs: 60_000 }),
      told(source, again, { lagUs: 20_000 }, 'copy'),
      told(again, obeying, { lagUs: 40_000 }, 'untold'),
    ];
    expect(leadersOf(all, { isLed: (field) => field !== source })).toEqual([again]);
    expect(leadersOf(all.slice(0, 2), { isLed: (field) => field !== source })).toEqual([]);
  });

  it('is the nearest, where it leaves clearly less open', () => {
    const far = prepared('C', [0.6, 0.8]);
    expect(leadersOf([told(far, obeying, { unexplained: 0.08 }), told(source, obeying)])).toEqual([source]);
  });
});
