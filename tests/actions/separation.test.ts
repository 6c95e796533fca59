import { describe, expect, it } from 'vitest';
import { isTold, togetherByAction, togetherWords } from '../../src/actions/separation.ts';
import type { Mark } from '../../src/actions/types.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';

const at = (action: string, startS: number, lastsS: number | null = null): Mark => ({
  action,
  startS,
  endS: lastsS === null ? null : startS + lastsS,
});
const times = (n: number, make: (k: number) => Mark): Mark[] => Array.from({ length: n }, (_, k) => make(k));
const partners = (marks: readonly Mark[], action: string): string[] =>
  (togetherByAction(marks).get(action) ?? []).map((each) => `${each.own} ${each.event} ${each.action}`);

describe('actions that were always done together', () => {
  const brake = times(6, (k) => at('brake pressed', 20 * k));
  const key = times(6, (k) => at('key to ready', 20 * k + 0.8));

  it('are named on both sides, with both recordings that would tell', () => {
    const found = togetherByAction([...brake, ...key]);
    expect(found.get('brake pressed')).toMatchObject([{ action: 'key to ready', times: 6, of: 6, alone: 0 }]);
    expect(found.get('key to ready')).toMatchObject([{ action: 'brake pressed', times: 6, of: 6, alone: 0 }]);
    expect(found.get('brake pressed')?.[0]?.lagS).toBeCloseTo(0.8, 9);
    const [together] = found.get('brake pressed') ?? [];
    expect(togetherWords(together as NonNullable<typeof together>)).toContain(
      'with "key to ready" 6 of 6 times (0.8 s later)',
    );
    const next = found.get('brake pressed')?.[0]?.next ?? '';
    expect(next).toContain('do "brake pressed" five times and leave "key to ready" out');
    expect(next).toContain('then "key to ready" five times');
  });

  it('are named on one side where the other came alone as well', () => {
    const more = times(8, (k) => at('brake pressed', 20 * k + 10));
    const marks = [...brake, ...more, ...key];
    expect(partners(marks, 'brake pressed')).toEqual([]);
    const [together] = togetherByAction(marks).get('key to ready') ?? [];
    expect(together).toMatchObject({ action: 'brake pressed', alone: 8 });
    expect(isTold(together as NonNullable<typeof together>)).toBe(true);
    expect(together?.next).not.toContain('then "brake pressed"');
  });

  it('are not told by the few that a person may have forgotten to mark', () => {
    expect(isTold({ alone: 3, times: 13, of: 14 })).toBe(false);
    expect(isTold({ alone: 3, times: 3, of: 3 })).toBe(true);
    expect(isTold({ alone: 8, times: 13, of: 14 })).toBe(true);
  });

  it('may be the end of one and the start of another', () => {
    const pedal = times(5, (k) => at('accelerator pressed', 30 * k, 6));
    const stop = times(5, (k) => at('brake pressed', 30 * k + 6.5, 3));
    expect(partners([...pedal, ...stop], 'accelerator pressed')).toEqual(['end start brake pressed']);
  });

  it('are not told from two marks, nor of marks that lie apart', () => {
    expect(togetherByAction([...brake.slice(0, 2), ...key.slice(0, 2)]).size).toBe(0);
    expect(togetherByAction([...brake, ...times(6, (k) => at('horn', 20 * k + 9))]).size).toBe(0);
  });

  it('are not seen in actions done at random, however often', () => {
    const random = createRandom(7).fork('separation');
    const anywhere = (draw: Random, action: string, n: number): Mark[] => times(n, () => at(action, 300 * draw.next()));
    let found = 0;
    for (let world = 0; world < 300; world++) {
      const draw = random.fork(String(world));
      found += togetherByAction([...anywhere(draw, 'a', 6), ...anywhere(draw, 'b', 6 + (world % 90))]).size;
    }
    expect(found).toBeLessThanOrEqual(2);
  });
});
