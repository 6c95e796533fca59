import { describe, expect, it } from 'vitest';
import { linkFields } from '../../src/actions/link.ts';
import type { Mark } from '../../src/actions/types.ts';
import { createRandom } from '../../src/kit/random.ts';
import { pedal, series, wander, worldOf, type Span } from './scenario.ts';

const SECONDS = 400;
const random = createRandom(11).fork('rather');

/** A lever is moved only with the brake held; the brake is pressed alone as often. */
const brakes: Span[] = Array.from({ length: 16 }, (_, k) => ({ startS: 12 + 24 * k + 3 * random.next(), endS: 0 })).map(
  ({ startS }) => ({ startS, endS: startS + 3 + random.next() }),
);
const levers = brakes.filter((_, k) => k % 2 === 0).map(({ startS }) => startS + 0.7 + 0.2 * random.next());
const lever = series(SECONDS, (k) => levers.filter((atS) => atS <= k * 0.02).length % 2);
const marks: Mark[] = [
  ...brakes.map(({ startS, endS }) => ({ action: 'brake pressed', startS, endS })),
  ...levers.map((startS) => ({ action: 'lever moved', startS, endS: null })),
].sort((a, b) => a.startS - b.startS);

describe('an action that is always done along with another', () => {
  it('keeps the field that answers it alone, and says of the other whose it rather is', async () => {
    const fields = [
      { name: 'lever', values: lever, periodS: 0.02, kind: 'flag' as const },
      { name: 'pressure', values: pedal(brakes, SECONDS, random), periodS: 0.02 },
      ...Array.from({ length: 12 }, (_, k) => ({
        name: `other ${k}`,
        values: wander(SECONDS, 4, random),
        periodS: 0.05,
      })),
    ];
    const { table, frames } = worldOf(fields, SECONDS, 3);
    const report = await linkFields(
      { table, findings: frames, marks: { marks, timeBase: 'capture' }, offset: 0, seed: 1 },
      {},
    );
    const moved = report.actions.find(({ action }) => action === 'lever moved');
    expect(moved?.together?.map(({ action }) => action)).toContain('brake pressed');
    const sure = (moved?.links ?? []).filter(({ q }) => q <= 0.05);
    const of = (field: string) => sure.filter((link) => link.field === field);
    expect(of('lever').length).toBeGreaterThan(0);
    expect(of('lever').every(({ rather }) => rather === undefined)).toBe(true);
    expect(of('pressure').length).toBeGreaterThan(0);
    expect(of('pressure').every(({ rather }) => rather?.[0] === 'brake pressed')).toBe(true);
    expect(moved?.words).toContain('may rather be of "brake pressed"');
  });

  it('tells so of one that is done along with another two times of three, too', async () => {
    const alone = Array.from({ length: 5 }, (_, k) => 24 + 72 * k + random.next());
    const moves = [...levers, ...alone].sort((a, b) => a - b);
    const fields = [
      {
        name: 'lever',
        values: series(SECONDS, (k) => moves.filter((atS) => atS <= k * 0.02).length % 2),
        periodS: 0.02,
        kind: 'flag' as const,
      },
      { name: 'pressure', values: pedal(brakes, SECONDS, random), periodS: 0.02 },
      ...Array.from({ length: 12 }, (_, k) => ({
        name: `other ${k}`,
        values: wander(SECONDS, 4, random),
        periodS: 0.05,
      })),
    ];
    const { table, frames } = worldOf(fields, SECONDS, 4);
    const some: Mark[] = [...marks, ...alone.map((startS): Mark => ({ action: 'lever moved', startS, endS: null }))];
    const file = { marks: some.sort((a, b) => a.startS - b.startS), timeBase: 'capture' } as const;
    const report = await linkFields({ table, findings: frames, marks: file, offset: 0, seed: 1 }, {});
    const moved = report.actions.find(({ action }) => action === 'lever moved');
    const sure = (moved?.links ?? []).filter(({ q }) => q <= 0.05);
    const of = (field: string) => sure.filter((link) => link.field === field);
    expect(of('lever').length).toBeGreaterThan(0);
    expect(of('lever').every(({ rather }) => rather === undefined)).toBe(true);
    expect(of('pressure').length).toBeGreaterThan(0);
    expect(of('pressure').every(({ rather }) => rather?.[0] === 'brake pressed')).toBe(true);
  });
});
