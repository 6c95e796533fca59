/** Each law by itself, on courses made by hand: it holds where it is, and not where only its like is. */
import { describe, expect, it } from 'vitest';
import { cellSums } from '../../../src/draft/cross-checks/cells.ts';
import { claimed } from '../../../src/draft/cross-checks/find.ts';
import { powerBalances } from '../../../src/draft/cross-checks/power.ts';
import { constantRatios, type OnGrid } from '../../../src/draft/cross-checks/speeds.ts';
import type { Trial } from '../../../src/draft/cross-checks/trial.ts';
import { createRandom } from '../../../src/kit/random.ts';

const POINTS = 600;
const random = createRandom('laws');
/** A smooth course that goes to and fro between -1 and 1, of its own. */
function smooth(label: string): (k: number) => number {
  const own = random.fork(label);
  const waves = Array.from({ length: 4 }, () => ({ per: own.between(40, 160), phase: own.between(0, 6) }));
  return (k) => waves.reduce((sum, { per, phase }) => sum + Math.sin((2 * Math.PI * k) / per + phase) / 4, 0);
}

/** streams: fields of one frame share theirs. */
function laid(name: string, stream: object, valueOf: (k: number) => number, sender = 'A'): OnGrid {
  const place = { bus: 'can0', id: name, extended: false, field: name };
  const candidate = { stream, field: { length: 16, order: 'little', coding: 'unsigned' } };
  const course = Float64Array.from({ length: POINTS }, (_, k) => valueOf(k));
  return { field: { place, candidate, likelySender: sender } as unknown as OnGrid['field'], course };
}

const holding = (trials: readonly Trial[]): string[] =>
  trials.filter(({ holds }) => holds).map(({ members }) => (members.at(-1) as Trial['members'][number]).place.id);

describe('cells and what they add up to', () => {
  const pack = {};
  const sag = smooth('sag');
  const cells = [0, 1, 2, 3, 4].map((cell) => laid(`cell ${cell}`, pack, (k) => 3600 + cell * 7 + 80 * sag(k)));
  const sum = (k: number): number => cells.reduce((all, { course }) => all + (course[k] as number), 0);

  it('hold for the pack, at any scale', () => {
    expect(holding(cellSums([...cells, laid('pack', {}, (k) => sum(k) / 40)]))).toEqual(['pack']);
  });

  it('do not hold for what goes along with another zero, the other way, or on its own', () => {
    const other = smooth('other');
    const fields = [
      laid('with an offset', {}, (k) => sum(k) / 40 + 400),
      laid('the other way', {}, (k) => 900 - sum(k) / 40),
      laid('on its own', {}, (k) => 450 + 10 * other(k)),
    ];
    const trials = cellSums([...cells, ...fields]);
    expect(trials.length).toBeGreaterThanOrEqual(3);
    expect(holding(trials)).toEqual([]);
  });
});

describe('cells over several frames', () => {
  const sag = smooth('sag of several');
  const at = (cell: number) => (k: number) => 3600 + cell * 7 + 80 * sag(k);
  const sum = (k: number): number => [0, 1, 2, 3].reduce((all, cell) => all + at(cell)(k), 0);

  it('are one set where one sender sends them', () => {
    const own = [0, 1, 2, 3].map((cell) => laid(`cell ${cell}`, {}, at(cell), 'P'));
    expect(holding(cellSums([...own, laid('pack', {}, sum, 'Q')]))).toEqual(['pack']);
    const apart = [0, 1, 2, 3].map((cell) => laid(`cell ${cell}`, {}, at(cell), `P${cell}`));
    expect(holding(cellSums([...apart, laid('pack', {}, sum, 'Q')]))).toEqual([]);
  });

  it('are no cells where they come near zero, as wheels do that add up to a speed', () => {
    const turn = smooth('turn');
    const wheel = (k: number): number => Math.max(0, 900 * turn(k));
    const wheels = [1, 1.01, 0.99, 1.02].map((own, place) => laid(`wheel ${place}`, {}, (k) => own * wheel(k), 'P'));
    expect(cellSums([...wheels, laid('motor', {}, (k) => 9 * wheel(k), 'Q')])).toEqual([]);
  });
});

describe('two speeds in a fixed ratio', () => {
  const motion = smooth('motion');
  const motor = laid('motor', {}, (k) => 4000 + 4000 * motion(k));

  it('hold where the one is a multiple of the other', () => {
    expect(holding(constantRatios([motor, laid('wheel', {}, (k) => 400 + 400 * motion(k))]))).toEqual(['wheel']);
  });

  it('do not hold where a line does not meet zero, or leaves much open', () => {
    const other = smooth('aside');
    expect(holding(constantRatios([motor, laid('shifted', {}, (k) => 900 + 400 * motion(k))]))).toEqual([]);
    const loose = laid('loose', {}, (k) => 400 + 400 * motion(k) + 120 * other(k));
    expect(holding(constantRatios([motor, loose]))).toEqual([]);
  });
});

describe('a current with torque times speed', () => {
  const [pull, pace, other] = [smooth('pull'), smooth('pace'), smooth('load')];
  const torque = laid('torque', {}, pull);
  const speed = laid('speed', {}, pace);
  const balance = (valueOf: (k: number) => number): string[] =>
    holding(powerBalances([torque], [speed], [laid('current', {}, valueOf)]));

  it('holds for their product, whatever the factors add by themselves', () => {
    expect(balance((k) => 200 + 50 * pull(k) * pace(k) + 20 * pull(k))).toEqual(['current']);
  });

  it('does not hold for a sum of both, or where the product is the smaller part', () => {
    expect(balance((k) => 50 * pull(k) + 30 * pace(k) + other(k))).toEqual([]);
    expect(balance((k) => 50 * pull(k) * pace(k) + 60 * other(k))).toEqual([]);
    expect(balance((k) => 28 * pull(k) + 18 * pull(k) * pace(k) + 8 * other(k))).toEqual([]);
  });
});

describe('what is claimed of all that was tried', () => {
  const trial = (id: string, p: number): Trial => ({
    check: 'constant-ratio',
    members: [{ part: 'speed', place: { bus: 'can0', id, extended: false, field: id } as never }],
    residual: 0.01,
    n: 500,
    p,
    holds: true,
    figures: { ratio: 2 },
  });

  it('is bounded by the false discovery rate over all of it', () => {
    const alone = [trial('one', 0.03)];
    expect(claimed(alone)).toHaveLength(1);
    const among = [...alone, ...Array.from({ length: 9 }, (_, k) => ({ ...trial(`tried ${k}`, 1), holds: false }))];
    expect(claimed(among)).toEqual([]);
  });
});
