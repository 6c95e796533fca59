/** Short captures named after one action: names, chance of labels (worked by hand), and links of a small world. */
import { describe, expect, it } from 'vitest';
import { readCaptureName, readCaptureNames } from '../../src/actions/capture-names.ts';
import { joinCaptures } from '../../src/actions/joined-captures.ts';
import { chooseCount, choicesOf, labelChances, outdone } from '../../src/actions/label-permutations.ts';
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
  it('takes every choice that mixes labels, and draws where there are many', () => {
    const labels = ['a', 'a', 'b', 'b', null];
    // 10 pairs less "a a" and "b b".
    expect(choicesOf(labels, 2, createRandom(1)).length).toBe(8);
    expect(chooseCount(30, 10)).toBe(30_045_015);
    const many = Array.from({ length: 30 }, (_, i) => `${i % 3}`);
    const drawn = choicesOf(many, 10, createRandom(2));
    expect(drawn.length).toBeGreaterThan(1900);
    expect(drawn.every((set) => new Set(set).size === 10)).toBe(true);
  });

  it('measures how far captures outdo all others, either way, by their least against the greatest of those', () => {
    const outdoing = (values: number[], set: number[]): number => outdone({ values, floor: 0.5 }, set);
    // Usual 2, the others up to 1 above: (6 - 2) / (1 + 0.5).
    expect(outdoing([1, 6, 2, 9, 3], [1, 3])).toBeCloseTo(Math.log(4 / 1.5), 12);
    expect(outdoing([-1, -6, -2, -9, -3], [1, 3])).toBeCloseTo(Math.log(4 / 1.5), 12);
    expect(outdoing([1, 6, 2, 9, 7], [1, 3])).toBe(0);
    expect(outdoing([4, 4, 4, 4, 4], [1, 3])).toBe(0);
  });

  it('counts chance over all fields, and never below a share of the own choices', () => {
    const still = Array.from({ length: 9 }, () => [{ values: [5, 5, 5, 5, 5, 5], floor: 0.2 }]);
    const answers = [{ values: [0, 1, 0, 1, 0, 0], floor: 0.2 }];
    const choices = choicesOf(['x', 'y', 'z', 'y', 'u', 'v'], 2, createRandom(3));
    const chances = labelChances([answers, ...still], [1, 3], choices);
    // 14 other choices of 10 fields, two copies counted as one: none does as well.
    expect(chances[0]?.p).toBeCloseTo(1 / (1 + 140 / 2), 12);
    expect(chances[1]?.p).toBe(1);
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

  it('needs two captures of an action among twenty, and says so where there is one', async () => {
    const hornTimes = (times: number): (string | null)[] => {
      let left = times;
      return mixed.map((name) => (name !== 'horn' || left-- > 0 ? name : null));
    };
    const hornOf = async (times: number) =>
      (await scene(hornTimes(times), 33)).actions.find(({ action }) => action === 'horn');
    expect((await hornOf(2))?.links.map(({ field }) => field)).toEqual(['horn_flag']);
    const once = await hornOf(1);
    expect(once?.links).toEqual([]);
    expect(once?.words).toMatch(/more captures of it/);
  });
});
