/** Timing kinds and periods on senders of known habit, several seeds each. Tolerances in one table. */
import { describe, expect, it } from 'vitest';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { judgeTiming } from '../../src/timing/kinds/kind.ts';
import { atRandom, beatWithEvents, inBursts, onGrid, presses, relativeTimer, twoModes, type Sent } from './simulate.ts';

const SEEDS = [1, 2, 3, 4, 5, 6];

/** Method of the simulation, how to make it, kind, period in ms, tolerance of the period. */
const periodic: [string, (seed: string) => Sent, number, number][] = [
  ['grid of 10 ms', (s) => onGrid(s, { periodS: 0.01, durationS: 60, jitter: 0.01 }), 10, 0.0005],
  [
    'grid, 5 % lost, some in runs',
    (s) => onGrid(s, { periodS: 0.01, durationS: 60, jitter: 0.02, loss: 0.05 }),
    10,
    0.0005,
  ],
  ['grid, 40 % lost', (s) => onGrid(s, { periodS: 0.01, durationS: 60, jitter: 0.02, loss: 0.4 }), 10, 0.001],
  [
    'grid, jitter 10 % of the period',
    (s) => onGrid(s, { periodS: 0.02, durationS: 60, jitter: 0.1, loss: 0.01 }),
    20,
    0.002,
  ],
  [
    'grid, jitter 20 %, 5 % lost',
    (s) => onGrid(s, { periodS: 0.02, durationS: 60, jitter: 0.2, loss: 0.05 }),
    20,
    0.005,
  ],
  [
    'grid, stamps of 1 ms',
    (s) => onGrid(s, { periodS: 0.01, durationS: 60, jitter: 0.02, loss: 0.01, stampStepS: 0.001 }),
    10,
    0.001,
  ],
  [
    'grid, stamps of the period',
    (s) => onGrid(s, { periodS: 0.01, durationS: 60, jitter: 0.02, stampStepS: 0.01 }),
    10,
    0.001,
  ],
  [
    'grid, batches of 16 ms',
    (s) => onGrid(s, { periodS: 0.01, durationS: 60, jitter: 0.02, batchS: 0.016 }),
    10,
    0.002,
  ],
  ['grid, batches of 100 ms', (s) => onGrid(s, { periodS: 0.01, durationS: 60, jitter: 0.02, batchS: 0.1 }), 10, 0.003],
  ['grid of 1 s for a minute', (s) => onGrid(s, { periodS: 1, durationS: 60, jitter: 0.005 }), 1000, 0.002],
  ['grid of 5 s for half a minute', (s) => onGrid(s, { periodS: 5, durationS: 30, jitter: 0.005 }), 5000, 0.005],
  ['relative timer, 3 %', (s) => relativeTimer(s, 0.05, 120, 0.03), 50, 0.004],
  ['relative timer, 8 %', (s) => relativeTimer(s, 0.05, 120, 0.08), 50, 0.008],
  ['two modes, 10 and 100 ms', (s) => twoModes(s, 0.01, 0.1, 60), 10, 0.001],
  ['bursts of 3 every 100 ms', (s) => inBursts(s, 0.1, 3, 0.01, 60), 100, 0.001],
  ['bursts of 2 every 100 ms', (s) => inBursts(s, 0.1, 2, 0.001, 60), 100, 0.001],
];
const mixed: [string, (seed: string) => Sent, number, number][] = [
  ['beat that goes on', (s) => beatWithEvents(s, 0.1, 120, 0.5, false), 100, 0.002],
  ['beat that goes on, 1 s', (s) => beatWithEvents(s, 1, 300, 3, false), 1000, 0.002],
  ['beat that starts anew', (s) => beatWithEvents(s, 0.1, 120, 0.5, true), 100, 0.002],
  ['beat that starts anew, rarely', (s) => beatWithEvents(s, 0.1, 120, 5, true), 100, 0.002],
];
const irregular: [string, (seed: string) => Sent][] = [
  ['at random, 10 a second', (s) => atRandom(s, 0.1, 120)],
  ['at random, one in 2 s', (s) => atRandom(s, 2, 120)],
  ['at random, never closer than 50 ms', (s) => atRandom(s, 0.1, 120, 0.05)],
  ['key presses', (s) => presses(s, 120)],
];

const judge = ({ timeUs, changed }: Sent) => runSteps(judgeTiming(timeUs, changed));

describe.each([
  ['periodic', periodic],
  ['mixed', mixed],
] as const)('%s', (kind, table) => {
  it.each(table)('%s', (title, make, periodMs, tolerance) => {
    for (const seed of SEEDS) {
      const { timing, why } = judge(make(`${title} ${seed}`));
      expect(timing.kind, why).toBe(kind);
      expect(Math.abs((timing.periodMs ?? 0) / periodMs - 1), `period ${timing.periodMs}`).toBeLessThan(tolerance);
    }
  });
});

describe('no grid', () => {
  it.each(irregular)('%s: on change, without a period', (title, make) => {
    for (const seed of SEEDS) {
      const { timing, gapLimitUs } = judge(make(`${title} ${seed}`));
      expect(timing).toEqual({ kind: 'on-change', periodMs: null, jitterMs: null });
      expect(gapLimitUs).toBe(Infinity);
    }
  });

  it('too few frames for a period: said, not guessed', () => {
    const few = (...stamps: number[]) =>
      judge({ timeUs: Float64Array.from(stamps), changed: new Uint8Array(stamps.length) });
    expect(few(5).timing.kind).toBe('once');
    expect(few(5, 10).why).toContain('seen twice');
    expect(few(0, 100_000, 150_000)).toMatchObject({ timing: { kind: 'on-change', periodMs: null } });
    expect(few(0, 100_000, 201_000)).toMatchObject({
      timing: { kind: 'periodic' },
      why: expect.stringContaining('only 3'),
    });
  });
});

describe('jitter and bursts', () => {
  it.each([0.01, 0.05, 0.1])('finds a jitter of %f of the period', (jitter) => {
    for (const seed of SEEDS) {
      const { timing } = judge(onGrid(`jitter ${seed}`, { periodS: 0.02, durationS: 60, jitter }));
      expect(timing.jitterMs).toBeGreaterThan(20 * jitter * 0.85);
      // Arbitration delays of 0.2 ms on average come on top.
      expect(timing.jitterMs).toBeLessThan(20 * jitter * 1.15 + 0.2);
    }
  });

  it('tells how many frames a burst has and how far apart they are', () => {
    const { timing } = judge(inBursts('bursts', 0.1, 3, 0.01, 60));
    expect(timing.burst?.count).toBe(3);
    expect(timing.burst?.periodMs).toBeCloseTo(10, 0);
  });
});
