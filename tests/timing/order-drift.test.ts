/** What order tells of two clocks' drift where stamps only say in which fetch frames came: none within a module, and less where nobody crosses. */
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { busFrames } from '../../src/timing/bus-frames.ts';
import { followClock, type ClockReading, type FollowedClock } from '../../src/timing/senders/clock-reading.ts';
import { readClocksCoarsely } from '../../src/timing/senders/coarse-clocks.ts';
import { drawnApart } from '../../src/timing/senders/drawn-apart.ts';
import type { SurveyFrame } from '../../src/timing/types.ts';

const [DURATION_S, FETCH_US, PERIOD_US] = [200, 10_000, 10_000];

interface Module {
  readonly skewPpm: number;
  readonly phaseUs: number;
}

/** Two identifiers of each module, 20 ms, one behind the other with waits of up to a frame; all fetched every 10 ms and stamped then. */
function fetched(modules: readonly Module[], seed: string): PlainFrame[] {
  const random = createRandom(seed);
  const sent: { us: number; id: number }[] = [];
  for (const [place, { skewPpm, phaseUs }] of modules.entries()) {
    for (let tick = 0; tick * PERIOD_US < DURATION_S * 1e6; tick++) {
      const us = phaseUs + tick * PERIOD_US * (1 - skewPpm * 1e-6) + 40 * Math.abs(random.normal());
      for (const own of [0, 1]) sent.push({ us: us + 250 * own + 120 * random.next(), id: 0x100 + 2 * place + own });
    }
  }
  sent.sort((a, b) => a.us - b.us);
  return sent.map(({ us, id }) => ({ timeUs: Math.ceil(us / FETCH_US) * FETCH_US, bus: 'can0', id, data: [0] }));
}

/** In the order of the modules, two a module. */
function readingsOf(modules: readonly Module[], seed: string): ClockReading[] {
  const table = buildTable(fetched(modules, seed));
  const recorded = { stepUs: FETCH_US, endUs: table.endUs, pausesUs: new Map(), clockOf: new Map() };
  const timing = { kind: 'periodic', periodMs: PERIOD_US / 1000, jitterMs: 0, burst: null };
  const streams = [...table.streams].sort((a, b) => a.id - b.id);
  const clocks = streams.map((stream) => {
    const found = runSteps(followClock(stream, { timing } as unknown as SurveyFrame, recorded));
    return ('first' in found ? found.first : null) as FollowedClock;
  });
  return runSteps(readClocksCoarsely(table, clocks, runSteps(busFrames(table)), recorded));
}

const apart = (a: ClockReading | undefined, b: ClockReading | undefined): { ppm: number; se: number } => {
  if (!a?.drawn || !b?.drawn) throw new Error('no clock was drawn');
  return drawnApart(a.drawn, b.drawn, DURATION_S * 1e6);
};

describe('drift by order, fetched every 10 ms', () => {
  const own: number[] = [];
  for (const seed of ['one', 'two', 'three', 'four', 'five', 'six']) {
    const random = createRandom(seed);
    const modules = Array.from({ length: 7 }, () => ({
      skewPpm: 30 * random.normal(),
      phaseUs: random.between(0, PERIOD_US),
    }));
    const readings = readingsOf(modules, seed);
    modules.forEach((_, i) => {
      const inside = apart(readings[2 * i], readings[2 * i + 1]);
      own.push(inside.ppm / inside.se);
    });
  }
  const rms = (values: readonly number[]): number =>
    Math.sqrt(values.reduce((sum, value) => sum + value * value, 0) / values.length);

  it('of two identifiers of one module is none', () => expect(rms(own)).toBeLessThan(1.3));

  it('is known the less, the more room two modules have between each other that nobody ever crosses', () => {
    const calm = [
      { skewPpm: 2, phaseUs: 2000 },
      { skewPpm: -2, phaseUs: 7000 },
    ];
    const crossed = [...calm, { skewPpm: 120, phaseUs: 9000 }, { skewPpm: -120, phaseUs: 4000 }];
    const [few, many] = [readingsOf(calm, 'calm'), readingsOf(crossed, 'calm')];
    expect(apart(few[0], few[2]).se).toBeGreaterThan(2 * apart(many[0], many[2]).se);
    expect(Math.abs(apart(many[0], many[2]).ppm - 4)).toBeLessThan(3 * apart(many[0], many[2]).se);
  });
});
