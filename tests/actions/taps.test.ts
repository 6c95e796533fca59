import { describe, expect, it } from 'vitest';
import { linkFields } from '../../src/actions/link.ts';
import { markedTaps, syncTaps } from '../../src/actions/taps.ts';
import type { Mark } from '../../src/actions/types.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { candidatesOf } from '../../src/map/proposed-fields.ts';
import { bystanders, flagOf, lagged, pedal, worldOf, type Span, type WorldField } from './scenario.ts';

const SECONDS = 240;

const tapsAt = (fromS: number, everyS = 0.6): Span[] =>
  [0, 1, 2].map((k) => ({ startS: fromS + k * everyS, endS: fromS + k * everyS + 0.2 }));

/** A brake pressed for long now and then, tapped at 8 s and again at 225 s; marked on a clock that is 4.2 s ahead and runs fast. */
function world(random: Random, { ppm = 0, more = [] as readonly WorldField[], spans = [] as readonly Span[] } = {}) {
  const taps = [...tapsAt(8), ...tapsAt(225)];
  const long = [40, 90, 150].map((startS) => ({ startS, endS: startS + 4 }));
  const presses = [...taps, ...long, ...spans].sort((a, b) => a.startS - b.startS);
  const brake: WorldField[] = [
    { name: 'brake lamp', values: flagOf(presses, SECONDS), periodS: 0.05, kind: 'flag' },
    { name: 'brake pressure', values: lagged(pedal(presses, SECONDS, random), 0.03), periodS: 0.02 },
  ];
  const marks = taps.map(({ startS, endS }): Mark => {
    const own = (atS: number): number => atS + 0.3 + 0.05 * random.normal() + 4.2 + (atS - SECONDS / 2) * ppm * 1e-6;
    return { action: 'brake', startS: own(startS), endS: own(endS) };
  });
  const others = bystanders(80, SECONDS, random);
  return { ...worldOf([...brake, ...more, ...others], SECONDS, 3), marks };
}

const seen = ({ table, frames, marks }: ReturnType<typeof world>, from = 0) =>
  syncTaps(marks, candidatesOf(table, frames.slice(from)), [-30, 30], SECONDS);

describe('three quick presses', () => {
  it('are recognised in marks at both ends of a recording, and not in the middle of one', () => {
    const { marks } = world(createRandom(1));
    expect(markedTaps(marks).map(({ edge, action }) => `${action} ${edge}`)).toEqual(['brake start', 'brake end']);
    const beside = (fromS: number): Mark[] =>
      Array.from({ length: 5 }, (_, k) => ({ action: 'horn', startS: fromS + 3 * k, endS: null }));
    const inside = [...beside(-40), ...marks, ...beside(300)];
    expect(markedTaps(inside)).toEqual([]);
    const four = [...marks, { action: 'brake', startS: (marks[2]?.startS ?? 0) + 0.6, endS: null }];
    expect(markedTaps(four).map(({ edge }) => edge)).toEqual(['end']);
  });

  it.each([1, 2, 3, 4, 5])('in marks and a field say how far the clocks are apart (seed %i)', (seed) => {
    const found = seen(world(createRandom(seed).fork('both')));
    expect(found.map(({ edge }) => edge)).toEqual(['start', 'end']);
    for (const { offsetS, seS } of found) {
      expect(Math.abs(offsetS + 4.5)).toBeLessThan(0.15);
      expect(seS).toBeGreaterThan(0.03);
      expect(seS).toBeLessThan(0.15);
    }
  });

  it('are not seen where no field shows them', () => {
    const found = Array.from({ length: 12 }, (_, seed) => seen(world(createRandom(seed).fork('dark')), 2)).flat();
    expect(found).toEqual([]);
  });

  it('say nothing where the same rhythm comes at another time too', () => {
    const blinks = flagOf([...tapsAt(20, 0.62), ...tapsAt(120), ...tapsAt(235)], SECONDS);
    const blinker: WorldField = { name: 'blinker', values: blinks, periodS: 0.05, kind: 'flag' };
    expect(seen(world(createRandom(6), { more: [blinker] }))).toEqual([]);
  });

  it('settle a clock for which there are too few marks, and tell of its drift', async () => {
    const drifting = world(createRandom(7), { ppm: 2000 });
    const { table, frames: findings, marks } = drifting;
    const ask = (own: readonly Mark[]) =>
      linkFields({ table, findings, marks: { marks: own, timeBase: 'capture' }, offset: 'auto', seed: 1 }, {});
    const { clock } = await ask(marks);
    expect(clock.from).toBe('found');
    expect(Math.abs(clock.offsetS + 4.5)).toBeLessThan(0.3);
    expect(clock.words).toContain('three quick');
    expect(clock.taps).toHaveLength(2);
  });
});
