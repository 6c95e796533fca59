import { beforeAll, describe, expect, it } from 'vitest';
import { createRandom } from '../../../src/kit/random.ts';
import { checkContinuity, nextCounterValue } from '../../../src/map/counter.ts';
import type { MapCounter } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aCounter, aSelector } from '../../support/map-parts.ts';
import { counting, heard, periodic } from './hearing.ts';

beforeAll(requireGcc);

const verdicts = (rule: Partial<MapCounter>, values: readonly number[]): string[] =>
  heard({ ...periodic, counters: [aCounter({ lsb: { byte: 1, bit: 0 }, length: 4, ...rule })] }, counting(values)).map(
    ({ verdict, skipped }) => (skipped > 0 ? `${verdict} ${skipped}` : verdict),
  );

describe('counters on reception, by hand', () => {
  it('tells expected, repeated, skipped and wrong apart', () => {
    expect(verdicts({ max: 13 }, [12, 13, 0, 0, 1, 4, 5, 14, 6, 7])).toEqual([
      ...['first', 'expected', 'expected', 'repeated', 'expected', 'skipped 2', 'expected', 'wrong', 'expected'],
      'expected',
    ]);
  });

  it('steps of other sizes: a jump that the rule never makes is wrong, and the next is judged against it', () => {
    expect(verdicts({ step: 2 }, [0, 2, 6, 7, 9, 8])).toEqual([
      'first',
      'expected',
      'skipped 1',
      'wrong',
      'expected',
      'wrong',
    ]);
    // Steps of 3 reach every value of 0 to 15: from 9 to 8 it is 5 steps (12, 15, 2, 5, 8).
    expect(verdicts({ step: 3 }, [9, 12, 12, 1, 4])).toEqual([
      'first',
      'expected',
      'repeated',
      'skipped 6',
      'expected',
    ]);
    expect(verdicts({ step: 3 }, [9, 8])).toEqual(['first', 'skipped 4']);
  });

  it('downward, and a toggle', () => {
    expect(verdicts({ step: -1 }, [1, 0, 15, 13, 13])).toEqual([
      'first',
      'expected',
      'expected',
      'skipped 1',
      'repeated',
    ]);
    expect(verdicts({ length: 1, max: 1 }, [0, 1, 0, 0, 1])).toEqual([
      'first',
      'expected',
      'expected',
      'repeated',
      'expected',
    ]);
  });

  it('a value that stays for several frames: too long is repeated, too short is skipped', () => {
    expect(verdicts({ every: 3 }, [5, 5, 6, 6, 6, 7, 7, 7, 7, 8, 9, 9, 9, 10])).toEqual([
      ...['first', 'expected', 'expected', 'expected', 'expected', 'expected', 'expected', 'expected', 'repeated'],
      // Only one frame with 8 came; two are missing before 9. Of 9 it is not known which three they were.
      ...['expected', 'skipped 2', 'expected', 'expected', 'expected'],
    ]);
  });

  it('on a page: only frames of the page count, and others say none', () => {
    const frame = {
      ...periodic,
      selectors: [aSelector({ lsb: { byte: 1, bit: 7 }, length: 1 })],
      counters: [aCounter({ lsb: { byte: 1, bit: 0 }, length: 4, when: { page: [1] } })],
    };
    const told = heard(frame, counting([0x81, 0x05, 0x82, 0x06, 0x06, 0x82, 0x85]));
    expect(told.map(({ verdict }) => verdict)).toEqual([
      'first',
      'none',
      'expected',
      'none',
      'none',
      'repeated',
      'skipped',
    ]);
    expect(told.at(-1)?.skipped).toBe(2);
  });

  it('keeps the last good value where a counter is repeated or wrong', () => {
    const frame = { ...periodic, counters: [aCounter({ lsb: { byte: 1, bit: 0 }, length: 4, max: 13 })] };
    const told = heard(frame, counting([0, 1, 1, 15, 2]));
    expect(told.map(({ value: kept }) => kept)).toEqual([0, 1, 1, 1, 4]);
    expect(told.map(({ status }) => status)).toEqual([0, 0, 6, 6, 0]);
  });
});

describe('counters of random rules', () => {
  it.each([1, 2, 3])('seed %i: a run without loss is expected throughout; n frames left out are told as n', (seed) => {
    const random = createRandom(`counter ${seed}`);
    for (let i = 0; i < 4; i++) {
      const min = random.below(3);
      const max = min + 1 + random.below(250 - min);
      const rule = {
        min,
        max,
        length: 8,
        step: random.pick([1, 1, -1, 2, 3, -5, 7]),
        every: random.pick([1, 1, 2, 4]),
      };
      const counter = aCounter({ lsb: { byte: 1, bit: 0 }, ...rule });
      const whole: number[] = [];
      let [raw, held] = [min, 0];
      for (let n = 0; n < 60; n++) {
        whole.push(raw);
        if (++held === rule.every) [raw, held] = [nextCounterValue(counter, raw), 0];
      }
      const told = heard({ ...periodic, counters: [counter] }, counting(whole));
      expect(
        told.map(({ verdict }) => verdict),
        JSON.stringify(rule),
      ).toEqual(['first', ...whole.slice(1).map(() => 'expected')]);
      // Steps that lead back to the same value within the gap cannot be told: here the turn is longer than that.
      const cut = rule.every * 2;
      const lossy = [...whole.slice(0, 4 * rule.every), ...whole.slice(4 * rule.every + cut)];
      const sum = heard({ ...periodic, counters: [counter] }, counting(lossy)).reduce(
        (n, { skipped }) => n + skipped,
        0,
      );
      const { lost } = checkContinuity(counter, Float64Array.from(lossy), null);
      expect(sum, JSON.stringify(rule)).toBe(lost);
    }
  });
});
