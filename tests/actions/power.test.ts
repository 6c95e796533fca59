/** What is said would have been found is found: a flag that answers so many of the marks among idle fields, and not one that answers two fewer. */
import { describe, expect, it } from 'vitest';
import { linkFields } from '../../src/actions/link.ts';
import type { ActionLinks, Mark } from '../../src/actions/types.ts';
import { createRandom } from '../../src/kit/random.ts';
import { flagOf, wander, worldOf, type WorldField } from './scenario.ts';

const SECONDS = 300;

async function knock(seed: number, answered: number): Promise<ActionLinks> {
  const random = createRandom(seed).fork('power');
  const atS = Array.from({ length: 10 }, (_, k) => 10 + 27 * k + random.between(0, 15));
  const marks = atS.map((startS): Mark => ({ action: 'knock', startS, endS: null }));
  const told = atS.slice(0, answered).map((startS) => ({ startS, endS: startS + 1 }));
  const fields: WorldField[] = [
    ...(answered > 0 ? [{ name: 'told', periodS: 0.05, kind: 'flag' as const, values: flagOf(told, SECONDS) }] : []),
    ...Array.from({ length: 60 }, (_, k): WorldField => ({
      name: `other ${k}`,
      periodS: 0.05,
      values: wander(SECONDS, 3, random.fork(`other ${k}`)),
    })),
  ];
  const { table, frames } = worldOf(fields, SECONDS, seed);
  const file = { marks, timeBase: 'capture' } as const;
  const { actions } = await linkFields({ table, findings: frames, marks: file, offset: 0, seed: 1 }, {});
  return actions[0] as ActionLinks;
}

const isFound = ({ links }: ActionLinks): boolean => links.some(({ q, field }) => q <= 0.05 && field === 'told');

describe('where nothing answers ten marks (60 fields, seeds 1, 2, 3)', () => {
  it('what is said would have been found is found, and not what is clearly less', async () => {
    for (const seed of [1, 2, 3]) {
      const needed = (await knock(seed, 0)).power?.flagAnswers as number;
      expect(needed).toBeGreaterThanOrEqual(2);
      expect(needed).toBeLessThanOrEqual(8);
      expect(isFound(await knock(seed, needed + 1))).toBe(true);
      expect(isFound(await knock(seed, needed - 2))).toBe(false);
    }
  });

  it('a number would have been found by the surprise that a flag needs: k marks of a normal at m deviations are k m^2 / 2 nats', async () => {
    const { power, tested } = await knock(1, 0);
    const nats = (10 * (power?.numberSd as number) ** 2) / 2;
    // A claim among so many tests takes odds beyond one in all of them, and not their third power twenty times over.
    expect(nats).toBeGreaterThan(Math.log(tested));
    expect(nats).toBeLessThan(3 * Math.log(20 * tested));
  });
});
