/** Timing kinds and periods on senders of known habit, several seeds each. Tolerances in one table. */
import { describe, expect, it } from 'vitest';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { judgeTiming } from '../../src/timing/kinds/kind.ts';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { newsOf } from '../../src/timing/kinds/news.ts';
import { findPaces } from '../../src/timing/kinds/paces.ts';
import { intervals } from '../../src/timing/kinds/intervals.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import {
  atRandom,
  beatWithEvents,
  byTicks,
  inBursts,
  onChangeInSpells,
  onGrid,
  presses,
  relativeTimer,
  repeatsChanges,
  twoModes,
  type RepeatHabit,
  type Sent,
} from './simulate.ts';

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
  ['two frames a tick of 20 ms', (s) => inBursts(s, 0.02, 2, 0.0004, 60), 20, 0.001],
  ['two frames 30 ms apart every 100 ms', (s) => inBursts(s, 0.1, 2, 0.03, 60), 100, 0.001],
  // Ticks of 10 ms come at 20 and 30 ms in turn for a period of 25 ms: (20 + 30) / 2.
  ['25 ms by ticks of 10 ms', (s) => byTicks(s, 0.025, 0.01, 60), 25, 0.001],
  ['50 ms by ticks of 20 ms', (s) => byTicks(s, 0.05, 0.02, 60), 50, 0.001],
  ['two modes, 20 and 50 ms', (s) => twoModes(s, 0.02, 0.05, 60), 20, 0.001],
  ['two modes, 1 s after 100 ms', (s) => twoModes(s, 0.1, 1, 120), 100, 0.001],
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
  ['in spells, 10 ms apart at the least', (s) => onChangeInSpells(s, 0.01, 120)],
  ['in spells, 100 ms apart at the least', (s) => onChangeInSpells(s, 0.1, 120)],
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

describe('changes that are repeated quickly', () => {
  const habits: [string, Partial<RepeatHabit>, number][] = [
    ['three at 20 ms, else 500 ms', { count: 3 }, 500],
    ['ten at 20 ms, else 500 ms', { count: 10 }, 500],
    ['two at 20 ms, else 500 ms', { count: 2 }, 500],
    ['five at 10 ms, else 100 ms', { count: 5, quickS: 0.01, slowS: 0.1 }, 100],
    ['three at 50 ms, else 2 s, the beat going on', { count: 3, quickS: 0.05, slowS: 2, startsAnew: false }, 2000],
    ['five at 20 ms, a counter in every frame', { count: 5, blind: true }, 500],
  ];
  const base: RepeatHabit = { slowS: 0.5, quickS: 0.02, count: 3, eventS: 4, durationS: 120 };

  it.each(habits)('%s: the slow period, and what a change is worth', (title, more, slowMs) => {
    const habit = { ...base, ...more };
    for (const seed of SEEDS) {
      const { timing, why } = judge(repeatsChanges(`${title} ${seed}`, habit));
      expect(timing.kind, why).toBe('mixed');
      expect(Math.abs((timing.periodMs as number) / slowMs - 1), why).toBeLessThan(0.001);
      expect(timing.burst?.count, why).toBe(habit.count);
      expect(Math.abs((timing.burst?.periodMs as number) / (1000 * habit.quickS) - 1)).toBeLessThan(0.02);
    }
  });

  it('silence between: on change, repeated', () => {
    for (const seed of SEEDS) {
      const { timing } = judge(repeatsChanges(`silent ${seed}`, { ...base, silent: true }));
      expect(timing).toMatchObject({ kind: 'on-change', periodMs: null, burst: { count: 3 } });
    }
  });

  it('losses on a plain grid are no repetitions', () => {
    for (const seed of SEEDS) {
      const { timing } = judge(onGrid(`lossy ${seed}`, { periodS: 0.02, durationS: 60, loss: 0.45 }));
      expect(timing).toMatchObject({ kind: 'periodic' });
      expect(timing.burst).toBeUndefined();
    }
  });
});

describe('a beat that starts anew from every frame', () => {
  it('shows without news: no interval is longer, and many are as long', () => {
    for (const seed of SEEDS) {
      const sent = beatWithEvents(`timeout ${seed}`, 0.5, 200, 0.6, true);
      const { timing, why } = judge({ ...sent, changed: new Uint8Array(sent.timeUs.length).fill(1) });
      expect(timing.kind, why).toBe('mixed');
      expect(Math.abs((timing.periodMs as number) / 500 - 1), why).toBeLessThan(0.002);
    }
  });
});

describe('paces', () => {
  it('end where the sender changes its period', () => {
    const { timeUs } = twoModes('paces', 0.01, 0.1, 60);
    const { stretches, periodsUs } = runSteps(findPaces(timeUs, intervals(timeUs)));
    expect(stretches.map(({ pace }) => Math.round((periodsUs[pace] as number) / 1000))).toEqual([10, 100]);
    expect(Math.abs((timeUs[stretches[1]?.fromRow as number] as number) / 1e6 - 42)).toBeLessThan(0.2);
  });
});

describe('news', () => {
  it('a counter from 0 to 14 and a checksum are none, a state is', () => {
    const frames: PlainFrame[] = [];
    const random = createRandom('news');
    for (let i = 0; i < 900; i++) {
      const state = Math.floor(i / 90);
      frames.push({ timeUs: 10_000 * i, bus: 'can0', id: 7, data: [state, 0x40, i % 15, random.below(256)] });
    }
    const stream = buildTable(frames).streams[0] as Parameters<typeof newsOf>[0];
    const news = runSteps(newsOf(stream, new Uint8Array(900).fill(1)));
    expect([...news.entries()].filter(([, isNew]) => isNew).map(([row]) => row)).toEqual([
      0, 90, 180, 270, 360, 450, 540, 630, 720, 810,
    ]);
  });
});

describe('answers', () => {
  /** Other traffic at 10 and 20 ms, a question at random or by a loose timer, an answer `delayMs` later where there is one. */
  function asked(seed: string, delayMs: number, answered: number, meanS: number, loose = 1): PlainFrame[] {
    const random = createRandom(seed);
    const frame = (timeUs: number, id: number): PlainFrame => ({
      timeUs: Math.round(timeUs),
      bus: 'can0',
      id,
      data: [id & 255],
    });
    const frames: PlainFrame[] = [];
    for (const [id, periodUs] of [
      [0x100, 10_000],
      [0x101, 20_000],
    ] as const) {
      for (let us = random.next() * periodUs; us < 120e6; us += periodUs)
        frames.push(frame(us + Math.abs(random.normal()) * 60, id));
    }
    for (let us = 1e6; us < 119e6; us += 1e6 * meanS * (1 - loose + loose * 2 * random.next()) + 4000) {
      frames.push(frame(us, 0x300));
      if (random.next() < answered)
        frames.push(frame(us + 1000 * delayMs + Math.abs(random.normal()) * 60 * delayMs, 0x320));
    }
    return onWire(frames);
  }
  /** One after the other: a frame of one byte takes about 130 us at 500 kbit/s. */
  function onWire(frames: readonly PlainFrame[]): PlainFrame[] {
    let freeUs = 0;
    return [...frames]
      .sort((a, b) => a.timeUs - b.timeUs)
      .map((frame) => ({ ...frame, timeUs: (freeUs = Math.max(frame.timeUs, freeUs + 130)) }));
  }
  const timingOf = (frames: PlainFrame[], id = '0x320') =>
    surveyTable(buildTable(frames, { kind: 'epoch', text: '1773043272.0' }), {}).frames.find((frame) => frame.id === id)
      ?.timing;

  it.each([
    ['random questions, all answered', 3, 1, 0.4, 1],
    ['random questions, two in three answered', 8, 0.66, 0.4, 1],
    ['a loose poll, each time answered', 3, 1, 0.1, 0.3],
  ] as const)('%s', (title, delayMs, answered, meanS, loose) => {
    for (const seed of SEEDS.slice(0, 4)) {
      const frames = asked(`${title} ${seed}`, delayMs, answered, meanS, loose);
      const timing = timingOf(frames);
      expect(timing).toMatchObject({ kind: 'reply', replyTo: '0x300' });
      expect(Math.abs((timing?.delayMs as number) - delayMs)).toBeLessThan(0.5);
      expect(timingOf(frames, '0x300')?.kind).not.toBe('reply');
    }
  });

  it('two frames of one task, one behind the other, are no question and answer', () => {
    for (const seed of SEEDS.slice(0, 4))
      expect(timingOf(asked(`queue ${seed}`, 0.05, 1, 0.4))?.kind).not.toBe('reply');
  });

  /** A question every 100 ms, late by up to 400 us as the wire has it, and one at the same distance by the clock or by the frame. */
  function paced(seed: string, hangs: boolean): PlainFrame[] {
    const random = createRandom(seed);
    const frames: PlainFrame[] = [];
    for (let turn = 1; turn < 1200; turn++) {
      const dueUs = 100_000 * turn;
      const askedUs = dueUs + 400 * random.next() ** 2;
      const answerUs = (hangs ? askedUs : dueUs) + 3000 + 150 * Math.abs(random.normal());
      frames.push({ timeUs: Math.round(askedUs), bus: 'can0', id: 0x300, data: [turn & 255] });
      frames.push({ timeUs: Math.round(answerUs), bus: 'can0', id: 0x320, data: [turn & 255] });
    }
    for (let us = 0; us < 120e6; us += 10_007) frames.push({ timeUs: us, bus: 'can0', id: 0x100, data: [0] });
    return onWire(frames);
  }

  it('to a question on a period are told by hanging on its frames', () => {
    for (const seed of SEEDS.slice(0, 4))
      expect(timingOf(paced(`hangs ${seed}`, true))).toMatchObject({ kind: 'reply', replyTo: '0x300' });
  });

  it('two tasks of one clock keep their distance and are no question and answer', () => {
    for (const seed of SEEDS.slice(0, 4)) {
      const frames = paced(`tasks ${seed}`, false);
      expect(timingOf(frames)?.kind).toBe('periodic');
      expect(timingOf(frames, '0x300')?.kind).toBe('periodic');
    }
  });

  it('frames at random beside frames at random answer nothing', () => {
    const random = createRandom('beside');
    const frames = Array.from({ length: 1200 }, (_, i): PlainFrame => {
      const id = i % 3 === 0 ? 0x320 : 0x300;
      return { timeUs: Math.round(random.next() * 120e6), bus: 'can0', id, data: [i & 255] };
    });
    expect(timingOf(frames.sort((a, b) => a.timeUs - b.timeUs))?.kind).toBe('on-change');
  });
});
