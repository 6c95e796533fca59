/** Clock tracks, gateway copies, groups and their letters on captures whose senders are known. */
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { trackClock } from '../../src/timing/senders/clock-track.ts';
import { schedulesOf } from '../../src/timing/senders/schedules.ts';
import { groupLetter } from '../../src/timing/senders/groups.ts';
import { estimateSkew } from '../../src/timing/senders/skew.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { Survey } from '../../src/timing/types.ts';

interface Module {
  readonly bus: string;
  readonly ids: readonly number[];
  readonly skewPpm: number;
  readonly phaseUs: number;
}

/** Frames of tasks of 10 ms; each identifier 20 ms, queued behind one another, with waits of up to a frame. */
function framesOf({ bus, ids, skewPpm, phaseUs }: Module, durationS: number): PlainFrame[] {
  const random = createRandom(`${bus} ${ids.join()}`);
  const frames: PlainFrame[] = [];
  for (let tick = 0; tick * 0.02 < durationS; tick++) {
    const startUs = phaseUs + tick * 20_000 * (1 - skewPpm * 1e-6) + Math.abs(random.normal()) * 20;
    ids.forEach((id, place) => {
      const waitUs = random.next() < 0.3 ? random.next() * 250 : 0;
      const data = [tick & 255, (tick >> 8) & 255, id & 255];
      frames.push({ timeUs: Math.round(startUs + place * 260 + waitUs), bus, id, data });
    });
  }
  return frames;
}

const GATEWAY_US = 700;

function surveyOf(modules: readonly Module[], durationS: number, copied: readonly number[] = []): Survey {
  const own = modules.flatMap((module) => framesOf(module, durationS));
  const copies = own
    .filter(({ bus, id }) => bus === 'can0' && copied.includes(id))
    .map((frame) => ({ ...frame, bus: 'can1', timeUs: frame.timeUs + GATEWAY_US }));
  const frames = [...own, ...copies].sort((a, b) => a.timeUs - b.timeUs);
  return surveyTable(buildTable(frames, { kind: 'epoch', text: '1773043272.000000' }), {});
}

const A: Module = { bus: 'can0', ids: [0x100, 0x110, 0x120, 0x130], skewPpm: 30, phaseUs: 1200 };
const B: Module = { bus: 'can0', ids: [0x105, 0x115, 0x125], skewPpm: -12, phaseUs: 6700 };
const C: Module = { bus: 'can1', ids: [0x200, 0x210, 0x220], skewPpm: 4, phaseUs: 3900 };

describe('senders of a known capture, 200 s', () => {
  const survey = surveyOf([A, B, C], 200, [0x110]);
  const groupOf = (bus: string, id: string) => survey.frames.find((frame) => frame.bus === bus && frame.id === id);

  it('are three groups, letters by bus and then by frames a second', () => {
    expect(survey.groups.map(({ group, ids }) => [group, [...ids].sort()])).toEqual([
      ['A', ['0x100', '0x110', '0x120', '0x130']],
      ['B', ['0x105', '0x115', '0x125']],
      ['C', ['0x200', '0x210', '0x220']],
    ]);
  });

  it('have their rates against the median group, and confidences that the rows repeat', () => {
    expect(survey.groups.map(({ skewPpm }) => Math.round(skewPpm ?? NaN))).toEqual([26, -16, 0]);
    for (const { members, group } of survey.groups) {
      for (const { bus, id, confidence } of members) {
        expect(confidence).toBeGreaterThan(0.9);
        expect(groupOf(bus, id)).toMatchObject({ group, groupConfidence: confidence });
      }
    }
  });

  it("name a gateway's copy, and give it to no group of the original's clock", () => {
    const copy = groupOf('can1', '0x110');
    expect(copy).toMatchObject({ group: null, copyOf: { bus: 'can0', id: '0x110', extended: false } });
    expect(copy?.copyOf?.delayMs).toBeCloseTo(0.7, 2);
    expect(survey.frames.filter(({ copyOf }) => copyOf !== null)).toHaveLength(1);
  });

  it('say in the verdict from which difference on clocks are told apart', () => {
    expect(survey.capture.clock.verdict).toMatch(/Senders' clocks can be told apart .* about [0-9.]+ ppm/);
  });
});

describe('what cannot be known stays alone', () => {
  it('a capture of ten seconds gives no group, and says why', () => {
    const survey = surveyOf([A, B], 10);
    expect(survey.groups).toEqual([]);
    expect(survey.capture.clock.verdict).toMatch(/Too short/);
    for (const frame of survey.frames) expect(frame.groupWhy).toMatch(/too shortly/);
  });

  it('clocks 3 ppm apart over 40 s give no confident membership', () => {
    const survey = surveyOf([A, { ...B, skewPpm: 27 }], 40);
    expect(survey.frames.filter(({ groupConfidence }) => (groupConfidence ?? 0) >= 0.9)).toEqual([]);
  });
});

describe('a clock track', () => {
  const timesOf = (skip: (tick: number) => boolean): Float64Array =>
    Float64Array.from({ length: 6000 }, (_, tick) => tick)
      .filter((tick) => !skip(tick))
      .map((tick) => tick * 10_000 * (1 + 40e-6) + (tick >= 4000 ? 3_456_789 : 0));

  it('is not misled by lost frames or a restarted timer', () => {
    const timeUs = timesOf((tick) => tick % 7 === 3 || (tick > 1000 && tick < 1030));
    const track = runSteps(trackClock(timeUs, 10.0004, 63.5e6));
    const skew = track && runSteps(estimateSkew(timeUs, track, 1));
    expect(skew?.lowerHull.ppm).toBeCloseTo(-40, 2);
    expect(skew?.leastSquares.ppm).toBeCloseTo(-40, 2);
    expect(skew?.spanS).toBeCloseTo(40, 1);
  });
});

describe('schedules', () => {
  const likeliest = (periodMs: number): number | undefined => schedulesOf(periodMs)[0]?.nominalUs;

  it('are round within what a crystal strays, decimal or in ticks of 1024 and of a 1024th', () => {
    expect([9.9993, 100.02, 12.5003, 650.01].map(likeliest)).toEqual([10_000, 100_000, 12_500, 650_000]);
    expect([10.2403, 20.4795, 9.7654, 19.532].map(likeliest)).toEqual([10_240, 20_480, 9765.625, 19_531.25]);
  });

  it('are several where a resonator may have strayed further', () => {
    expect(schedulesOf(20.507).map(({ nominalUs }) => nominalUs)).toContain(20_480);
    expect(schedulesOf(20.507).map(({ nominalUs }) => nominalUs)).toContain(20_500);
  });

  it('are none where no tick fits', () => expect(schedulesOf(0.0437)).toEqual([]));
});

describe('group letters', () => {
  it('go on after Z', () => expect([0, 25, 26, 51, 52].map(groupLetter)).toEqual(['A', 'Z', 'AA', 'AZ', 'BA']));
});
