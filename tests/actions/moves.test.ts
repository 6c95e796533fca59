/** A flag that only an action moves, and one that moves by itself as well. */
import { expect, it } from 'vitest';
import { linkFields } from '../../src/actions/link.ts';
import type { Mark } from '../../src/actions/types.ts';
import { createRandom } from '../../src/kit/random.ts';
import { bystanders, flagOf, worldOf } from './scenario.ts';

const SECONDS = 300;
const hand = createRandom(1).fork('hand');
/** At irregular times and for irregular lengths, as else another shift of the marks says the same. */
const presses = Array.from({ length: 16 }, (_, k) => {
  const startS = 10 + 17 * k + 7 * hand.next();
  return { startS, endS: startS + 1.5 + 2 * hand.next() };
});
const also = [3, 6, 10].map((k) => {
  const startS = (presses[k]?.startS ?? 0) + 6;
  return { startS, endS: startS + 2 };
});

it('is counted: at how many marks a field moves so, and how often otherwise', async () => {
  const random = createRandom(1).fork('moves');
  const fields = [
    { name: 'only then', values: flagOf(presses, SECONDS).map((on) => 1 - on), periodS: 0.05, kind: 'flag' as const },
    {
      name: 'also else',
      values: flagOf([...presses.slice(2), ...also], SECONDS),
      periodS: 0.05,
      kind: 'flag' as const,
    },
    ...bystanders(40, SECONDS, random),
  ];
  const { table, frames: findings } = worldOf(fields, SECONDS, 4);
  const marks = presses.map(({ startS, endS }): Mark => ({
    action: 'press',
    startS: startS + 0.3 + 0.05 * random.normal(),
    endS: endS + 0.3 + 0.05 * random.normal(),
  }));
  const input = { table, findings, marks: { marks, timeBase: 'capture' as const }, offset: 'auto' as const, seed: 1 };
  const { actions } = await linkFields(input, {});
  const movesOf = (field: string, direction: string) =>
    actions[0]?.links.find((link) => link.field === field && link.direction === direction)?.moves;
  for (const direction of ['onset', 'release']) {
    expect(movesOf('only then', direction)).toEqual({ at: 16, of: 16, otherwise: 0 });
    expect(movesOf('also else', direction)).toEqual({ at: 14, of: 16, otherwise: 3 });
  }
});
