/** What the report's pictures are made of: paths, ticks, traces, time bars, the loom of a map. */
import { describe, expect, it } from 'vitest';
import { loomOfMap } from '../../../src/handover/report/pictures/loom-of-map.ts';
import { axisEndMs } from '../../../src/handover/report/pictures/sequence-scene.ts';
import { pathOf, svgSurface } from '../../../src/handover/report/pictures/svg-surface.ts';
import { bandPoints } from '../../../src/handover/report/pictures/trace-scene.ts';
import { columnsFor, frameTraces } from '../../../src/handover/report/traces.ts';
import { runSteps } from '../../../src/frames/pictures/steps.ts';
import { hatchOf, hatchWithin } from '../../../src/kit/drawing/hatches.ts';
import { niceTicks } from '../../../src/kit/drawing/ticks.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { tableOfLines, type LogLine } from '../../support/log-table.ts';
import { aFrame, aSignal } from '../../support/map-parts.ts';
import { cells, demand, pumpMap, status } from './maps.ts';

describe('paths', () => {
  it('are relative, to a tenth, and lift the pen', () => {
    expect(pathOf([0, 0, 10, 0, 10, 5.55, 9.5, 5, Number.NaN, Number.NaN, 1, 2, 3, 4])).toBe(
      'M0 0h10v5.6l-.5-.6M1 2l2 2',
    );
  });

  it('end where they should after many steps: rounding does not add up', () => {
    const random = createRandom(5);
    const points = Array.from({ length: 2000 }, (_, k) => (k % 2 === 0 ? k * 0.137 : 20 * random.next()));
    const steps = pathOf(points).match(/[Mlhv][^Mlhv]*/g) ?? [];
    const [x] = steps.reduce<[number, number]>(
      ([atX, atY], step) => {
        const [first = 0, second = 0] = (step.slice(1).match(/-?\d*\.?\d+/g) ?? []).map(Number);
        if (step.startsWith('h')) return [atX + first, atY];
        if (step.startsWith('v')) return [atX, atY + first];
        return [atX + first, atY + second];
      },
      [0, 0],
    );
    expect(x).toBeCloseTo(1998 * 0.137, 1);
  });

  it('escape every text, and know no colour but those of the style sheet', () => {
    const { surface, parts } = svgSurface(10, 10, 'p1');
    surface.text(1, 2, '</text><script>', { color: 'var(--ink)', halo: 'var(--ground)' });
    expect(parts.join('')).toBe('<text x="1" y="2" class="k ha">&lt;/text&gt;&lt;script&gt;</text>');
  });
});

it('hatches are cut at the rectangle', () => {
  const points = hatchWithin(hatchOf(0), 10, 20, 30, 15);
  const xs = points.filter((value, index) => index % 2 === 0 && !Number.isNaN(value));
  const ys = points.filter((value, index) => index % 2 === 1 && !Number.isNaN(value));
  expect(xs.length).toBeGreaterThan(6);
  expect(Math.min(...xs)).toBeGreaterThanOrEqual(10 - 1e-9);
  expect(Math.max(...xs)).toBeLessThanOrEqual(40 + 1e-9);
  expect(Math.min(...ys)).toBeGreaterThanOrEqual(20 - 1e-9);
  expect(Math.max(...ys)).toBeLessThanOrEqual(35 + 1e-9);
});

describe('ticks', () => {
  it.each([
    [0, 100, 5, [0, 20, 40, 60, 80, 100]],
    [-0.3, 0.3, 3, [-0.2, 0, 0.2]],
    [0, 0, 3, [0]],
    [1, 0, 3, []],
    [Number.NaN, 1, 3, []],
  ] as const)('from %s to %s with at most %s steps', (low, high, most, ticks) => {
    expect(niceTicks(low, high, most)).toEqual(ticks);
  });

  it('are never more than asked and lie inside (seed 3, 500 ranges)', () => {
    const random = createRandom(3);
    for (let k = 0; k < 500; k++) {
      const low = (random.next() - 0.5) * 10 ** (random.next() * 12 - 6);
      const high = low + random.next() * 10 ** (random.next() * 12 - 6) + 1e-9;
      const ticks = niceTicks(low, high, 4);
      expect(ticks.length).toBeLessThanOrEqual(5);
      const slack = 1e-6 * (high - low) + 1e-12;
      for (const tick of ticks) expect(tick >= low - slack && tick <= high + slack).toBe(true);
    }
  });
});

describe('traces', () => {
  const frame = aFrame({
    id: '0x123',
    length: 1,
    signals: [aSignal({ lsb: { byte: 0, bit: 0 }, length: 8, scale: 2, offset: 1 })],
  });
  const line = (atS: number, value: number): LogLine => [atS, '123', value.toString(16).padStart(2, '0').toUpperCase()];

  it('have the least and greatest of each column in physical values; a silence is a hole, a usual pause is not', async () => {
    const table = await tableOfLines([
      ...Array.from({ length: 50 }, (_, k) => line(k * 0.1, k % 2 ? 10 : 20)),
      line(20, 100),
    ]);
    const [stream] = table.streams;
    if (!stream) throw new Error('the table has no stream');
    const made = runSteps(frameTraces(stream, frame, { fromS: 0, toS: 20, columns: 80 }));
    const [trace] = made.signals;
    expect([trace?.least, trace?.greatest]).toEqual([21, 201]);
    expect([trace?.low[4], trace?.high[4]]).toEqual([21, 41]);
    // From 5 s to 20 s nothing was sent: held for half a second at most, then a hole.
    expect(Number.isNaN(trace?.low[40] ?? 0)).toBe(true);
    expect(trace?.low[79]).toBe(201);
  });

  it('hold a value between frames that come seldom', async () => {
    const table = await tableOfLines(Array.from({ length: 11 }, (_, k) => line(k, k)));
    const [stream] = table.streams;
    if (!stream) throw new Error('the table has no stream');
    const [trace] = runSteps(frameTraces(stream, frame, { fromS: 0, toS: 10, columns: 50 })).signals;
    expect([...(trace?.low ?? [])].some(Number.isNaN)).toBe(false);
    expect(trace?.low[7]).toBe(3);
  });

  it('lift the pen over holes, and leave ink for a lone value', () => {
    const trace = { group: null, low: [1, NaN, 3, 3], high: [1, NaN, 4, 3], least: 1, greatest: 4, ticks: [] };
    const points = bandPoints(trace, (value) => -value);
    expect(points.filter((value) => Number.isNaN(value))).toHaveLength(2);
    expect(points.slice(0, 4).filter((_, index) => index % 2 === 1)).toEqual([-1, -1]);
  });

  it('take fewer columns the more there are', () => {
    expect([columnsFor(1), columnsFor(250), columnsFor(400), columnsFor(1200), columnsFor(100_000)]).toEqual([
      354, 354, 177, 59, 59,
    ]);
  });
});

it('a step far behind the others does not squeeze them', () => {
  const step = (ms: number) => ({ group: null, words: '', lowMs: ms, highMs: ms, isPresence: false });
  expect(axisEndMs([100, 200, 300, 400, 500].map(step))).toBe(500);
  expect(axisEndMs([100, 200, 300, 400, 500, 90_000].map(step))).toBeCloseTo(550);
  expect(axisEndMs([])).toBe(1);
});

it('the loom of a map has its buses, senders by the rate they add, and frames without a sender apart', () => {
  const loom = loomOfMap({ ...pumpMap, frames: [status, cells, { ...demand, sender: null }] });
  expect(loom.buses.map(({ name, words }) => [name, words])).toEqual([['can0', '500 kbit/s']]);
  const branches = loom.buses[0]?.branches ?? [];
  expect(branches.map(({ kind, title, doubted }) => [kind, title, doubted])).toEqual([
    ['sender', 'pump inverter', false],
    ['sender', 'sender B', true],
    ['unknown', 'unknown sender', false],
  ]);
});
