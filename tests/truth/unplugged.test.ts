/**
 * A module unplugged, over vehicles of two simulators whose seeds come from the commit: precision and recall of what it sent, and of who
 * reacts. The aim is 0.98 for what it sent; floors lie below what several bases gave.
 */
import { afterAll, describe, expect, it } from 'vitest';
import { addClaims, type Claims } from './support/claims.ts';
import { seedsFor } from './support/vehicles.ts';
import { recordUnplugged, scoreUnplugged, type UnpluggedCase, type UnpluggedScore } from './unplugged-cases.ts';
import { recordOtherwise } from './unplugged-otherwise.ts';

const READY = { begins: 'ready', ends: 'ready' } as const;

const CONDITIONS: readonly (Omit<UnpluggedCase, 'seed'> & { readonly name: string })[] = [
  { name: '1 us', profile: 'plain', first: { durationS: 150 }, second: { durationS: 96 } },
  { name: 'two buses', profile: 'dense', first: { durationS: 150 }, second: { durationS: 96 } },
  {
    name: 'the first charges too',
    profile: 'plain',
    first: { durationS: 190, charges: true },
    second: { durationS: 96 },
  },
  {
    name: '1 ms, much shorter, no waking',
    profile: 'dense',
    first: { durationS: 120, ...READY },
    second: { durationS: 40, ...READY },
    logger: { resolutionUs: 1000 },
  },
  {
    name: 'batches of 10 ms',
    profile: 'guarded',
    first: { durationS: 150 },
    second: { durationS: 96 },
    logger: { batchMs: 10 },
  },
  {
    name: 'lost frames and a hole',
    profile: 'extended',
    first: { durationS: 150 },
    second: { durationS: 96 },
    logger: { lossBursts: 6, lossMost: 200, holeS: 3 },
  },
  { name: 'CAN FD', profile: 'fd', first: { durationS: 150 }, second: { durationS: 96 } },
  {
    name: 'the inverter',
    profile: 'guarded',
    first: { durationS: 150 },
    second: { durationS: 96 },
    role: 'inverter',
  },
];

const OTHERWISE = [
  { name: 'other simulator, 1 us', wish: {} },
  { name: 'other simulator, two buses, 1 ms', wish: { buses: 2, modules: 5, logger: { resolutionUs: 1000 } } },
  { name: 'other simulator, sleep and modes', wish: { steady: false } },
] as const;

const words = ({ right, wrong, missed }: Claims): string => `${right} right, ${wrong} wrong, ${missed} missed`;
const precision = ({ right, wrong }: Claims): number => right / Math.max(1, right + wrong);
const recall = ({ right, missed }: Claims): number => right / Math.max(1, right + missed);

const { base, seeds } = seedsFor('unplugged', CONDITIONS.length + OTHERWISE.length + 1);
const lines: string[] = [];
const [own, other]: [UnpluggedScore[], UnpluggedScore[]] = [[], []];

describe(`a module unplugged (base ${base.slice(0, 10)})`, () => {
  CONDITIONS.forEach(({ name, ...given }, at) => {
    it(name, { timeout: 240_000 }, () => {
      const seed = seeds[at] as number;
      const found = recordUnplugged({ ...given, seed });
      const score = scoreUnplugged(found);
      own.push(score);
      lines.push(
        `${name}, ${found.role}${found.swapped ? ', leads swapped' : ''}: sent ${words(score.sent)}; reacts ${words(score.reacts)}`,
      );
      expect(score.sent.right + score.sent.missed).toBeGreaterThan(0);
    });
  });

  OTHERWISE.forEach(({ name, wish }, at) => {
    it(name, { timeout: 240_000 }, () => {
      const score = scoreUnplugged(
        recordOtherwise({ seed: seeds[CONDITIONS.length + at] as number, ...wish }, [120, 60]),
      );
      other.push(score);
      lines.push(`${name}: sent ${words(score.sent)}; reacts ${words(score.reacts)}`);
      expect(score.sent.right + score.sent.missed).toBeGreaterThan(0);
    });
  });

  it('nothing unplugged: nobody is missing, nobody reacts', { timeout: 240_000 }, () => {
    const seed = seeds[seeds.length - 1] as number;
    const drives = { first: { durationS: 150 }, second: { durationS: 96 } };
    const { absent } = recordUnplugged({ profile: 'plain', seed, role: null, ...drives }).comparison;
    expect(absent.sentBy).toEqual([]);
    expect(absent.reacts).toEqual([]);
  });

  it('what it sent is named, and nothing else', () => {
    const sent = addClaims([...own, ...other], (score) => score.sent);
    lines.push(`sent by it, ${own.length + other.length} vehicles: ${words(sent)}`);
    expect(precision(sent)).toBeGreaterThanOrEqual(0.93);
    expect(recall(sent)).toBeGreaterThanOrEqual(0.88);
    expect(precision(addClaims(own, (score) => score.sent))).toBeGreaterThanOrEqual(0.98);
    expect(recall(addClaims(own, (score) => score.sent))).toBeGreaterThanOrEqual(0.93);
  });

  it('who reacts is named where it can be seen', () => {
    const reacts = addClaims([...own, ...other], (score) => score.reacts);
    lines.push(`reacts, ${own.length + other.length} vehicles: ${words(reacts)}`);
    expect(precision(reacts)).toBeGreaterThanOrEqual(0.75);
    expect(recall(reacts)).toBeGreaterThanOrEqual(0.5);
  });

  afterAll(() => console.log(lines.join('\n')));
});
