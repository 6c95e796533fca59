/** The vehicle's modes in captures whose days are known, with and without marks, across pauses of the logger, and of one mode only. */
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { markedSpans, readMark } from '../../src/timing/modes/mark-states.ts';
import type { ModeMark } from '../../src/timing/modes/types.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { Survey } from '../../src/timing/types.ts';

type Awake = readonly [fromS: number, toS: number];

interface Module {
  readonly ids: readonly number[];
  readonly periodMs: number;
  readonly awake: readonly Awake[];
  /** Another period within these spans. */
  readonly other?: { readonly periodMs: number; readonly spans: readonly Awake[] };
}

/** Frames on one grid for each waking, a phase of its own each time; a counter in byte 0, a constant in byte 1. */
function framesOf(module: Module, seed: string): PlainFrame[] {
  const random = createRandom(seed);
  const isOther = (s: number): boolean => module.other?.spans.some(([from, to]) => s >= from && s < to) ?? false;
  return module.ids.flatMap((id) =>
    module.awake.flatMap(([fromS, toS]) => {
      const frames: PlainFrame[] = [];
      let count = 0;
      let s = fromS + (random.next() * module.periodMs) / 1000;
      while (s < toS) {
        const timeUs = Math.round(s * 1e6 + Math.abs(random.normal()) * 60);
        frames.push({ timeUs, bus: 'can0', id, data: [count++ & 15, id & 255, 0, 0] });
        s += (isOther(s) && module.other ? module.other.periodMs : module.periodMs) / 1000;
      }
      return frames;
    }),
  );
}

const table = (frames: readonly PlainFrame[]) =>
  buildTable(
    [...frames].sort((a, b) => a.timeUs - b.timeUs),
    { kind: 'epoch', text: '1773043272.000000' },
  );

function survey(
  modules: readonly Module[],
  seed: string,
  keep: (s: number) => boolean = () => true,
  marks: readonly ModeMark[] = [],
): Survey {
  const frames = modules.flatMap((module, at) => framesOf(module, `${seed} ${at}`));
  return surveyTable(table(frames.filter(({ timeUs }) => keep(timeUs / 1e6))), {}, undefined, marks);
}

const words = ({ modes }: Survey): string[] => modes.map(({ mode }) => mode);

/** On from 0, driving 20 to 60, asleep 80 to 95, charging 95 to 120: modules wake and stop one after the other. */
const DAY: readonly Module[] = [
  {
    ids: [0x100, 0x101],
    periodMs: 100,
    awake: [
      [0, 80.4],
      [95, 120],
    ],
    other: { periodMs: 10, spans: [[20, 60]] },
  },
  { ids: [0x110, 0x111], periodMs: 20, awake: [[0.1, 80.9]] },
  {
    ids: [0x120, 0x121, 0x122],
    periodMs: 50,
    awake: [
      [0.25, 81.3],
      [95.3, 120],
    ],
  },
  { ids: [0x130], periodMs: 200, awake: [[0.3, 80.2]] },
  { ids: [0x140, 0x141], periodMs: 100, awake: [[95.2, 120]] },
];

const DAY_MARKS: readonly ModeMark[] = [
  { action: 'key turned', value: 'on', startS: 0.2, endS: null },
  { action: 'selector moved', value: 'D', startS: 20.8, endS: null },
  { action: 'selector moved', value: 'P', startS: 60.9, endS: null },
  { action: 'key turned', value: 'off', startS: 79.9, endS: null },
  { action: 'plug inserted', startS: 95.6, endS: 119.9 },
];

describe('modes from traffic alone', () => {
  const found = survey(DAY, 'day');

  it('cuts a day at waking, driving, sleep and the next waking; what no mark names stays "on"', () => {
    expect(words(found)).toEqual(['waking', 'on', 'on 2', 'on', 'shutting down', 'asleep', 'waking', 'on 3']);
    const borders = found.modes.map(({ toS }) => toS).slice(1, 5);
    [20, 60, 80.2, 81.3].forEach((s, at) =>
      expect(Math.abs((borders[at] as number) - s), `border ${s}`).toBeLessThan(0.3),
    );
    expect(Math.abs((found.modes[5]?.toS ?? 0) - 95)).toBeLessThan(0.3);
  });

  it('leaves no hole between modes, from the first frame to the last', () => {
    const { modes, capture } = found;
    expect(modes[0]?.fromS).toBe(0);
    modes.slice(1).forEach((mode, at) => expect(mode.fromS).toBe(modes[at]?.toS));
    expect(modes.at(-1)?.toS).toBeCloseTo(capture.durationS, 6);
    for (const { why } of modes) expect(why).toMatch(/identifier/);
  });

  it('tells both periods of an identifier that has two, and never a blend', () => {
    const timing = found.frames.find(({ id }) => id === '0x100')?.timing;
    expect(timing?.byMode?.['on']?.periodMs).toBeCloseTo(100, 1);
    expect(timing?.byMode?.['on 2']?.periodMs).toBeCloseTo(10, 2);
    // The pace of most of its frames: 4000 at 10 ms, some 650 at 100 ms.
    expect(timing?.periodMs).toBeCloseTo(10, 2);
    expect(found.frames.find(({ id }) => id === '0x110')?.timing.byMode).not.toHaveProperty('asleep');
  });
});

describe('modes from marks', () => {
  it('names driving and charging; a mark near a turn means the turn', () => {
    const found = survey(DAY, 'day', () => true, DAY_MARKS);
    expect(words(found)).toEqual(['waking', 'on', 'driving', 'ready', 'shutting down', 'asleep', 'waking', 'charging']);
    const driving = found.modes.find(({ mode }) => mode === 'driving');
    expect(Math.abs((driving?.fromS ?? 0) - 20)).toBeLessThan(0.3);
    expect(driving?.why).toContain('selector moved: D');
    expect(found.frames.find(({ id }) => id === '0x100')?.timing.byMode?.['driving']?.periodMs).toBeCloseTo(10, 2);
  });

  it('divides steady traffic where a mark says so, and says that the traffic does not', () => {
    const steady: Module[] = [{ ids: [1, 2, 3, 4], periodMs: 20, awake: [[0, 60]] }];
    const marks: ModeMark[] = [{ action: 'car set to ready', startS: 20, endS: null }];
    const found = survey(steady, 'steady', () => true, marks);
    expect(words(found)).toEqual(['on', 'ready']);
    expect(found.modes[1]?.fromS).toBeCloseTo(20, 6);
    expect(found.modes[1]?.why).toContain('the traffic itself does not change');
  });

  it.each([
    [{ action: 'accelerator pressed', startS: 5, endS: 7 }, 'driving'],
    [{ action: 'gear selector', value: 'R', startS: 5, endS: null }, 'driving'],
    [{ action: 'Shift to drive', startS: 5, endS: null }, 'driving'],
    [{ action: 'ignition', value: 'START', startS: 5, endS: null }, 'ready'],
    [{ action: 'key to on', startS: 5, endS: null }, 'on'],
    [{ action: 'charging cable connected', startS: 5, endS: null }, 'charging'],
  ] as const)('reads %j', (mark, mode) => {
    expect(markedSpans([mark])).toMatchObject([{ mode, fromS: 5 }]);
  });

  it.each(['brake pressed', 'door opened', 'indicator left', 'inverter plug off', 'heater on'])(
    'takes nothing from "%s"',
    (action) => {
      expect(readMark({ action, startS: 1, endS: null })).toBeNull();
    },
  );
});

describe('silence', () => {
  const steady: Module[] = [10, 20, 50, 100, 100, 200].map((periodMs, at) => ({
    ids: [0x200 + 2 * at, 0x201 + 2 * at],
    periodMs,
    awake: [[0, 90]],
  }));

  it.each([1, 2, 3, 4])('a pause of the logger is no sleep, seed %i', (seed) => {
    const found = survey(steady, `pause ${seed}`, (s) => s < 40 || s > 46);
    expect(words(found)).toEqual(['on']);
  });

  it.each([1, 2, 3, 4])('the same silence with grids begun anew is sleep, seed %i', (seed) => {
    const slept = steady.map((module, at): Module => ({
      ...module,
      awake: [
        [0, 40 - 0.3 * at],
        [46 + 0.2 * at, 90],
      ],
    }));
    expect(words(survey(slept, `sleep ${seed}`))).toEqual(['on', 'shutting down', 'asleep', 'waking', 'on']);
  });

  it.each([1, 2, 3, 4])('losses, one by one and in bursts, cut nothing, seed %i', (seed) => {
    const random = createRandom(`losses ${seed}`);
    const bursts = Array.from({ length: 12 }, () => random.between(1, 89));
    const lossy = survey(
      steady,
      `lossy ${seed}`,
      (s) => random.next() > 0.03 && !bursts.some((at) => s > at && s < at + 0.15),
    );
    expect(words(lossy)).toEqual(['on']);
    expect(lossy.frames.every(({ timing }) => timing.byMode === undefined)).toBe(true);
  });
});

describe('the edges of a capture', () => {
  /** Clocks a few 10 ppm apart: after minutes, as many ticks each do not end in the same instant. */
  const uneven = (fromMs: readonly number[], toMs: readonly number[]): Module[] =>
    [10, 10, 10, 20, 100, 100, 10].map((periodMs, at) => ({
      ids: [0x300 + 4 * at, 0x301 + 4 * at, 0x302 + 4 * at],
      periodMs,
      awake: [[(fromMs[at] ?? 0) / 1000, 60 - (toMs[at] ?? 0) / 1000]],
    }));

  it.each([1, 2, 3, 4])('what is last heard just before the end has not stopped, seed %i', (seed) => {
    const found = survey(uneven([], [55, 48, 30, 22, 0, 90, 0]), `end ${seed}`);
    expect(words(found)).toEqual(['on']);
    expect(found.modes[0]).toMatchObject({ fromS: 0, toS: found.capture.durationS });
  });

  it.each([1, 2, 3, 4])('what is first heard just after the beginning has not started, seed %i', (seed) => {
    expect(words(survey(uneven([55, 48, 30, 22, 0, 90, 0], []), `beginning ${seed}`))).toEqual(['on']);
  });

  it.each([1, 2, 3, 4])('a second is long enough for what stops in turn, seed %i', (seed) => {
    const found = survey(uneven([], [900, 700, 500, 600, 0, 800, 0]), `off ${seed}`);
    expect(words(found)).toEqual(['on', 'shutting down']);
  });
});

describe('what cuts nothing', () => {
  it('one identifier that starts late by itself', () => {
    const alone: Module[] = [
      { ids: [1, 2, 3, 4, 5], periodMs: 20, awake: [[0, 60]] },
      { ids: [9], periodMs: 50, awake: [[30, 60]] },
    ];
    expect(words(survey(alone, 'alone'))).toEqual(['on']);
  });

  it('frames on changes only, one frame, and none', () => {
    const random = createRandom('changes');
    const frames = Array.from({ length: 80 }, (_, i) => ({
      timeUs: Math.round(random.next() * 60e6),
      bus: 'can0',
      id: 5,
      data: [i],
    }));
    expect(words(surveyTable(table(frames), {}))).toEqual(['on']);
    expect(words(surveyTable(table(frames.slice(0, 1)), {})).length).toBeLessThan(2);
    expect(surveyTable(table([]), {}).modes).toEqual([]);
  });

  it('a trimmed capture: it begins in the middle of what runs', () => {
    const frames = DAY.flatMap((module, at) => framesOf(module, `trim ${at}`));
    const found = surveyTable(table(frames), {}, { fromS: 25, toS: 55 });
    expect(words(found)).toEqual(['on']);
    expect(found.modes[0]?.fromS).toBeCloseTo(25, 1);
  });
});
