/** Short captures named after one action: names, chance of labels (worked by hand), and links of a small world. */
import { describe, expect, it } from 'vitest';
import { readCaptureName, readCaptureNames } from '../../src/actions/capture-names.ts';
import { joinCaptures } from '../../src/actions/joined-captures.ts';
import { chooseCount, choicesOf, labelChance, rankScores } from '../../src/actions/label-permutations.ts';
import { linkShortCaptures } from '../../src/actions/short-captures.ts';
import { createRandom } from '../../src/kit/random.ts';
import * as world from './scenario.ts';

describe("a capture's name", () => {
  it.each([
    ['brake pressed 3.log', 'brake pressed'],
    ['brake-pressed_02.asc', 'brake pressed'],
    ['captures/2026-03-09 Brake Pressed (2).log.gz', 'brake pressed'],
    ['horn take 2', 'horn'],
    ['gear 2 to park #4', 'gear 2 to park'],
  ])('%s is a repetition of %s', (name, action) => {
    expect(readCaptureName(name)).toEqual({ kind: 'action', action });
  });

  it.each(['idle', 'nothing 2.csv', 'Baseline_01.log', 'rest'])('%s is a control', (name) => {
    expect(readCaptureName(name)).toEqual({ kind: 'control' });
  });

  it.each(['capture 3', '0001.log', 'log_2026-03-09', ''])('"%s" says nothing', (name) => {
    expect(readCaptureName(name)).toEqual({ kind: 'unclear' });
  });

  it('is its title, or its file where the title says nothing', () => {
    expect(readCaptureNames(['capture 3', 'horn 1.log'])).toEqual({ kind: 'action', action: 'horn' });
  });
});

describe('chance of labels', () => {
  it('counts all choices where they are few: the two greatest of five, either sign, are 2 of 10', () => {
    const choices = choicesOf(5, 2, createRandom(1));
    expect(choices).toMatchObject({ exact: true });
    expect(choices.sets.length).toBe(10);
    const scores = [rankScores([1, 9, 2, 8, 3], 2)];
    expect(labelChance(scores, [1, 3], choices).p).toBeCloseTo(0.2, 12);
    // One flag raised in two captures only: no other pair does as well.
    expect(labelChance([rankScores([0, 1, 0, 1, 0], 2)], [1, 3], choices).p).toBeCloseTo(0.1, 12);
    // Nothing differs: every choice does as well.
    expect(labelChance([rankScores([4, 4, 4, 4, 4], 2)], [1, 3], choices).p).toBe(1);
  });

  it('draws where there are many, and never says 0', () => {
    expect(chooseCount(30, 10)).toBe(30_045_015);
    const choices = choicesOf(30, 10, createRandom(2));
    expect(choices.exact).toBe(false);
    const own = Array.from({ length: 10 }, (_, i) => 3 * i);
    const values = Array.from({ length: 30 }, (_, i) => (i % 3 === 0 ? 1 : 0));
    expect(labelChance([rankScores(values, 10)], own, choices).p).toBeCloseTo(1 / 20_001, 12);
  });
});

const SECONDS = 12;
function scene(names: readonly (string | null)[], seed: number) {
  const random = createRandom(seed);
  const worlds = names.map((name, i) => {
    const hand = random.fork(`capture ${i}`);
    const presses = world.flagOf([{ startS: hand.between(2, 4), endS: hand.between(5, 8) }], SECONDS);
    const still = world.flagOf([], SECONDS);
    // Scaled by its own range, a field needs the same range everywhere: these are raw values.
    const fields: world.WorldField[] = [
      { name: 'horn_flag', periodS: 0.1, kind: 'flag', values: name === 'horn' ? presses : still },
      { name: 'lamp_level', periodS: 0.1, kind: 'states', values: still.map(() => (name === 'lamps' ? 40 : 10)) },
      { name: 'odometer', periodS: 0.1, kind: 'states', values: still.map((_, k) => 1000 + 50 * i + k / 100) },
      ...Array.from({ length: 30 }, (_, b): world.WorldField => ({
        name: `other_${b}`,
        periodS: 0.1,
        kind: 'states',
        values: world.wander(SECONDS, 1, hand.fork(`other ${b}`)).map((v) => 500 + 40 * v),
      })),
    ];
    return world.worldOf(fields, SECONDS, seed);
  });
  const joined = joinCaptures(worlds.map(({ table }) => table));
  const findings = (worlds[0] as world.World).frames;
  return linkShortCaptures({ joined, actions: names, findings, seed: 1 }, {});
}
const mixed = Array.from({ length: 20 }, (_, i) => ['horn', 'lamps', 'whistled', null][(i * 7) % 4] as string | null);

describe('links by short captures (seed 31, 33 fields, 20 captures, 5 an action)', () => {
  it('finds what moves and what stands elsewhere, with n captures, and nothing for what nothing answers', async () => {
    const report = await scene(mixed, 31);
    const of = (name: string) => report.actions.find(({ action }) => action === name);
    expect(report.clock.from).toBe('not-needed');
    expect(of('horn')?.links.map(({ field }) => field)).toEqual(['horn_flag']);
    expect(of('horn')?.links[0]).toMatchObject({ effect: 1, direction: 'level', n: 5, lagS: 0 });
    expect(of('horn')?.links[0]?.p).toBeCloseTo(1 / 15_504, 12);
    expect(of('lamps')?.links.map(({ field }) => field)).toEqual(['lamp_level']);
    expect(of('lamps')?.links[0]?.effect).toBeCloseTo(30, 6);
    expect(of('whistled')?.links).toEqual([]);
    expect(of('whistled')?.words).toMatch(/no field of \d+ stands out/);
  });

  it('does not take drift for an answer where captures of an action were made in one go', async () => {
    const report = await scene([...mixed].sort(), 32);
    for (const { links, words } of report.actions) {
      expect(links.map(({ field }) => field)).not.toContain('odometer');
      expect(words).toMatch(/made in one go/);
    }
  });

  it('says that two captures are too few rather than claim', async () => {
    const few = mixed.map((name, i) => (i < 8 || name === null ? name : 'whistled'));
    const horn = (await scene(few, 33)).actions.find(({ action }) => action === 'horn');
    expect(horn?.links).toEqual([]);
    expect(horn?.words).toMatch(/more captures of it/);
  });
});
