/** Two loggers in one capture: the truth is the scene's, whose clocks, gateway and losses are drawn anew for each seed. */
import { describe, expect, it } from 'vitest';
import { checkTable } from '../../src/frames/check-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { memorySource } from '../../src/frames/source.ts';
import { readFrames } from '../../src/jobs/read-frames.ts';
import type { FrameTable, LoggerClock } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { alignLoggers, clockByBus, loggersOf } from '../../src/timing/clock/loggers/align.ts';
import { commonTime, ownTime } from '../../src/timing/clock/loggers/retime.ts';
import { stampResolution } from '../../src/timing/clock/resolution.ts';
import { record, type Scene } from './two-loggers.ts';

const BASE: Scene = {
  durationS: 120,
  forth: 3,
  back: 2,
  gateway: 'at-once',
  delayS: 0.001,
  second: { offsetS: 5, driftPpm: 20, stepS: 1e-6 },
};

function aligned(seed: string, scene: Scene): { table: FrameTable; clock: LoggerClock } {
  const table = runSteps(alignLoggers(record(seed, scene)));
  expect(checkTable(table)).toEqual([]);
  return { table, clock: table.loggers?.[0] as LoggerClock };
}

/** True amount by which the second logger was ahead where the answer says so, from the scene. */
function trueOffset(table: FrameTable, clock: LoggerClock, { second }: Scene): number {
  const pivotUs = clock.pieces[clock.pieces.length - 1]?.pivotUs ?? 0;
  const ownS = pivotUs / 1e6 + (Number(table.origin.text) - 1_700_000_000);
  const setS = (second.sets ?? []).reduce((sum, [, byS]) => sum + byS, 0);
  return ownS - (ownS - second.offsetS - setS) / (1 + second.driftPpm * 1e-6);
}

describe('offset and drift of a second logger', () => {
  it('are found from copied frames, errors within 3 standard errors in 95 % (40 scenes, seeds loggers/0 on)', () => {
    let [found, offsets, drifts] = [0, 0, 0];
    const scenes = 40;
    for (let i = 0; i < scenes; i++) {
      const random = createRandom(`loggers/${i}`);
      const scene: Scene = {
        durationS: random.pick([60, 120]),
        forth: 1 + random.below(4),
        back: random.below(4),
        gateway: random.pick(['at-once', 'polled', 'thinned', 'renamed']),
        delayS: random.pick([0.0003, 0.001, 0.003]),
        poor: random.next() < 0.3,
        second: {
          offsetS: random.pick([0.3, -3.7, 812.4, -7200.3]),
          driftPpm: random.normal() * 40,
          stepS: random.pick([1e-6, 1e-5, 1e-4, 1e-3]),
          loss: random.pick([0, 0.01, 0.05]),
        },
      };
      const { table, clock } = aligned(`scene/${i}`, scene);
      if (clock.state !== 'aligned') continue;
      found++;
      const offsetError = (clock.offsetS as number) - trueOffset(table, clock, scene);
      if (Math.abs(offsetError) <= 3 * (clock.offsetSe as number)) offsets++;
      if (Math.abs((clock.driftPpm as number) - scene.second.driftPpm) <= 3 * (clock.driftSe as number)) drifts++;
    }
    console.log(`loggers aligned: ${found} of ${scenes}; within 3 se: offset ${offsets}, drift ${drifts}`);
    expect(found).toBeGreaterThanOrEqual(0.9 * scenes);
    expect(offsets).toBeGreaterThanOrEqual(0.95 * found);
    expect(drifts).toBeGreaterThanOrEqual(0.95 * found);
  }, 120_000);

  it('are bounded where copies go both ways, and the bounds hold the truth', () => {
    const { table, clock } = aligned('both ways', BASE);
    const [low, high] = clock.offsetBoundsS as [number, number];
    const truth = trueOffset(table, clock, BASE);
    expect(low).toBeLessThan(truth);
    expect(high).toBeGreaterThan(truth);
    expect(high - low).toBeLessThan(0.004);
    expect(clock.why).toContain('both ways');
  });

  it('are said to hide a delay where copies go one way', () => {
    const { clock } = aligned('one way', { ...BASE, back: 0 });
    expect(clock.offsetBoundsS).toBeNull();
    expect(clock.why).toContain("gateway's own delay");
  });
});

describe('a clock that was set during the recording', () => {
  it.each([
    ['by seconds', [[50, 2]]],
    ['by 50 ms', [[50, 0.05]]],
    ['back by 20 ms', [[70, -0.02]]],
    [
      'twice',
      [
        [40, 0.3],
        [80, -0.15],
      ],
    ],
  ] as const)('is followed in pieces: %s', (_, sets) => {
    const scene = { ...BASE, second: { ...BASE.second, sets } };
    const { clock } = aligned('set', scene);
    expect(clock.pieces).toHaveLength(1 + sets.length);
    sets.forEach(([, byS], i) => {
      const [before, after] = [clock.pieces[i], clock.pieces[i + 1]].map((piece) => commonTime([piece as never], 0));
      expect(((before as number) - (after as number)) / 1e6).toBeCloseTo(byS, 2);
    });
  });
});

describe('loggers that', () => {
  it('share one clock are left as they are', () => {
    for (const gateway of ['at-once', 'polled'] as const) {
      const scene = { ...BASE, gateway, second: { offsetS: 0, driftPpm: 0, stepS: 1e-6 } };
      const read = record('one clock', scene);
      const table = runSteps(alignLoggers(read));
      expect(table.loggers?.[0]?.state).toBe('same-clock');
      expect(table.streams.map(({ timeUs }) => timeUs[5])).toEqual(read.streams.map(({ timeUs }) => timeUs[5]));
    }
  });

  it.each([
    ['have no payload in common', { ...BASE, forth: 0, back: 0 }],
    ['never ran at one time', { ...BASE, first: { toS: 50 }, second: { ...BASE.second, fromS: 70 } }],
  ])('%s are not aligned, and their buses have clocks of their own', (_, scene) => {
    const { table, clock } = aligned('apart', scene);
    expect(clock).toMatchObject({ state: 'not-aligned', offsetS: null, pieces: [] });
    expect(clock.why).toContain('nothing across');
    expect([...clockByBus(table)]).toEqual([
      ['can0', 0],
      ['can1', 1],
    ]);
  });

  it('are never aligned by chance: 12 pairs of poor recordings without a gateway', () => {
    for (let i = 0; i < 12; i++) {
      const { clock } = aligned(`chance/${i}`, { ...BASE, forth: 0, back: 0, poor: true });
      expect(clock.state).toBe('not-aligned');
    }
  });

  it('overlap for some seconds only are aligned over those', () => {
    const { table, clock } = aligned('partly', { ...BASE, second: { ...BASE.second, fromS: 90 } });
    expect(clock.state).toBe('aligned');
    expect(Math.abs((clock.offsetS as number) - trueOffset(table, clock, BASE))).toBeLessThan(0.005);
  });
});

describe('moved frames', () => {
  it('lie after their originals by the delay of the gateway, all through', () => {
    const { table } = aligned('delay', BASE);
    const [original, copy] = ['can0', 'can1'].map((bus) => table.streams.find((s) => s.bus === bus && s.id === 0x100));
    const delays = [0, 0.5, 0.99].map((share) => {
      const row = Math.floor(share * (original?.count as number));
      return ((copy?.timeUs[row] as number) - (original?.timeUs[row] as number)) / 1000;
    });
    for (const delay of delays) {
      expect(delay).toBeGreaterThan(0);
      expect(delay).toBeLessThan(4);
    }
  });

  it('give back the stamps that their file had', () => {
    const read = record('own', BASE);
    const { table, clock } = aligned('own', BASE);
    const shiftUs = (Number(table.origin.text) - Number(read.origin.text)) * 1e6;
    read.streams.forEach((stream, at) => {
      if (stream.bus !== 'can1') return;
      const moved = table.streams[at]?.timeUs as Float64Array;
      for (const row of [0, stream.count >> 1, stream.count - 1]) {
        expect(ownTime(clock.pieces, moved[row] as number) + shiftUs).toBeCloseTo(stream.timeUs[row] as number, 0);
      }
    });
  });

  it('keep the resolution that their file had', () => {
    const { table } = aligned('coarse', { ...BASE, first: { stepS: 1e-4 }, second: { ...BASE.second, stepS: 1e-4 } });
    expect(stampResolution(table)).toBe(100);
  });
});

/** The frames of one bus as a file of log lines. */
function logText(table: FrameTable, bus: string, fromS: number): string {
  const lines = table.streams
    .filter((stream) => stream.bus === bus)
    .flatMap((stream) =>
      Array.from({ length: stream.count }, (_, row) => {
        const payload = stream.payload.subarray(row * stream.stride, (row + 1) * stream.stride);
        const hex = Array.from(payload, (byte) => byte.toString(16).padStart(2, '0')).join('');
        return { us: stream.timeUs[row] as number, rest: `${bus} ${stream.id.toString(16)}#${hex}` };
      }),
    );
  lines.sort((a, b) => a.us - b.us);
  return lines.map(({ us, rest }) => `(${(fromS + us / 1e6).toFixed(6)}) ${rest}\n`).join('');
}

describe('two files that are opened together', () => {
  it('one from 1970 and one from its own start, are aligned, and the guess of the reader is taken back', async () => {
    const table = record('files', { ...BASE, durationS: 60 });
    const inputs = [logText(table, 'can0', 1_764_064_800), logText(table, 'can1', 0)].map((text, i) => ({
      source: memorySource(`${i}.log`, new TextEncoder().encode(text)),
    }));
    const outcome = await readFrames(inputs, {}, {});
    if (!outcome.ok) throw new Error(outcome.problems[0].message);
    expect(outcome.warnings.map(({ code }) => code)).not.toContain('clocks-differ');
    expect(outcome.value.loggers).toMatchObject([{ state: 'aligned', buses: ['can1'], files: ['1.log'] }]);
    expect(checkTable(outcome.value)).toEqual([]);
    const [original, copy] = ['can0', 'can1'].map((bus) =>
      outcome.value.streams.find((stream) => stream.bus === bus && stream.id === 0x100),
    );
    expect(Math.abs((copy?.timeUs[99] as number) - (original?.timeUs[99] as number))).toBeLessThan(5000);
  });
});

describe('files', () => {
  it('that share a bus are one logger, the others are loggers of their own', () => {
    const file = (name: string, ...buses: string[]) => ({ name, buses });
    const files = [file('1.log', 'can0', 'can1'), file('b.log', 'can2'), file('2.log', 'can1')];
    expect(loggersOf({ files } as unknown as FrameTable)).toEqual([
      { buses: ['can0', 'can1'], files: ['1.log', '2.log'] },
      { buses: ['can2'], files: ['b.log'] },
    ]);
  });
});
