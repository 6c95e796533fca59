/** The survey of a capture whose senders, losses and silences are known. */
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { FD_BIT_RATE_SWITCH, FD_FORMAT, type FrameTable } from '../../src/frames/table.ts';
import { wireBits } from '../../src/frames/wire.ts';
import { createRandom } from '../../src/kit/random.ts';
import { countSameStamps, silences } from '../../src/timing/bus-order.ts';
import { stampResolution } from '../../src/timing/clock/resolution.ts';
import { isDiagnosticPair } from '../../src/timing/kinds/replies.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { SurveyFrame } from '../../src/timing/types.ts';

interface Sender {
  readonly bus: string;
  readonly id: number;
  readonly periodUs: number;
  readonly data: (tick: number) => number[];
  readonly loss?: number;
  /** Silent in this stretch, microseconds. */
  readonly silent?: readonly [number, number];
  readonly direction?: 'received' | 'sent';
  readonly fdFlags?: number;
}

function framesOf(sender: Sender, durationUs: number): PlainFrame[] {
  const random = createRandom(`survey ${sender.id}`);
  const frames: PlainFrame[] = [];
  const [from, to] = sender.silent ?? [0, 0];
  for (let tick = 0; tick * sender.periodUs < durationUs; tick++) {
    const timeUs = Math.round(500 + tick * sender.periodUs + random.normal() * 0.01 * sender.periodUs);
    if (random.next() < (sender.loss ?? 0) || (timeUs > from && timeUs < to)) continue;
    const { bus, id, direction, fdFlags } = sender;
    frames.push({ timeUs, bus, id, data: sender.data(tick), direction, fdFlags });
  }
  return frames;
}

const DURATION_US = 60e6;
const SILENCE = [20e6, 24e6] as const;
const senders: Sender[] = [
  {
    bus: 'can0',
    id: 0x1f4,
    periodUs: 10_000,
    data: (tick) => [tick & 15, 7, 0, 0, 0, 0, 0, 1],
    loss: 0.02,
    silent: SILENCE,
  },
  { bus: 'can0', id: 0x2a0, periodUs: 100_000, data: (tick) => (tick % 2 ? [1, 2] : [1, 2, 3]), silent: SILENCE },
  { bus: 'can0', id: 0x7df, periodUs: 500_000, data: () => [2, 1, 0x0c], direction: 'sent', silent: SILENCE },
  {
    bus: 'can1',
    id: 0x18fef100,
    periodUs: 20_000,
    data: (tick) => new Array(12).fill(tick & 3),
    fdFlags: FD_FORMAT | FD_BIT_RATE_SWITCH,
  },
];
const frames = senders.flatMap((sender) => framesOf(sender, DURATION_US)).sort((a, b) => a.timeUs - b.timeUs);
const table = buildTable(frames, { kind: 'epoch', text: '1573220073.369233' });
const rates = { can0: { bitrate: 500_000, dataBitrate: null }, can1: { bitrate: 500_000, dataBitrate: 2_000_000 } };
const survey = surveyTable(table, rates);
const frameOf = (id: string): SurveyFrame => survey.frames.find((frame) => frame.id === id) as SurveyFrame;
const sentOf = (id: number): PlainFrame[] => frames.filter((frame) => frame.id === id);

describe('the survey of a known capture', () => {
  it('has its origin as written, every frame counted, identifiers by bus and number', () => {
    expect(survey.capture).toMatchObject({
      frames: frames.length,
      originS: '1573220073.369233',
      startS: 0,
      rejected: 0,
    });
    expect(survey.capture.durationS).toBeCloseTo(60, 1);
    expect(survey.frames.map(({ bus, id, extended, direction }) => [bus, id, extended, direction])).toEqual([
      ['can0', '0x1F4', false, 'received'],
      ['can0', '0x2A0', false, 'received'],
      ['can0', '0x7DF', false, 'sent'],
      ['can1', '0x18FEF100', true, 'received'],
    ]);
    expect(survey.frames.map((frame) => frame.count).reduce((a, b) => a + b)).toBe(frames.length);
    expect(survey.groups).toEqual([]);
  });

  it('finds the period through losses, counts them, and does not count the silence among them', () => {
    const wheel = frameOf('0x1F4');
    expect(wheel.timing.kind).toBe('periodic');
    expect(wheel.timing.periodMs).toBeCloseTo(10, 2);
    expect(wheel.timing.jitterMs).toBeCloseTo(0.1, 1);
    const expected = (DURATION_US - (SILENCE[1] - SILENCE[0])) / 10_000 - wheel.count;
    expect(wheel.missed).toBeGreaterThanOrEqual(expected - 2);
    expect(wheel.missed).toBeLessThanOrEqual(expected + 2);
    expect(wheel.gaps).toHaveLength(1);
    expect(wheel.gaps[0]?.fromS).toBeCloseTo(20, 1);
    expect(wheel.gaps[0]?.toS).toBeCloseTo(24, 1);
  });

  it('tells lengths, FD and how many payloads there are', () => {
    expect(frameOf('0x2A0').lengths.map(({ length }) => length)).toEqual([2, 3]);
    expect(
      frameOf('0x2A0')
        .lengths.map(({ count }) => count)
        .reduce((a, b) => a + b),
    ).toBe(frameOf('0x2A0').count);
    expect(frameOf('0x2A0').distinctPayloads).toBe(2);
    expect(frameOf('0x1F4').distinctPayloads).toBe(16);
    expect([frameOf('0x1F4').fd, frameOf('0x18FEF100').fd, frameOf('0x18FEF100').length]).toEqual([false, true, 12]);
  });

  it('loads the bus by the bits of its frames, those that the logger sent included', () => {
    const durationS = survey.capture.durationS;
    const bits = frames
      .filter((frame) => frame.bus === 'can0')
      .reduce(
        (sum, { id, data }) => sum + wireBits({ id, extended: false, payload: Uint8Array.from(data) }).nominal,
        0,
      );
    const [can0, can1] = survey.buses;
    expect(can0).toMatchObject({ name: 'can0', sent: sentOf(0x7df).length, bitrate: 500_000, errors: 0, remotes: 0 });
    expect(can0?.frames).toBe(sentOf(0x1f4).length + sentOf(0x2a0).length);
    // Payloads weigh as often as the sample of 256 frames meets them: a thousandth off the count of all.
    expect((can0?.load ?? 0) / (bits / 500_000 / durationS)).toBeCloseTo(1, 2);
    expect(can0?.peakLoad).toBeGreaterThan(can0?.load ?? 1);
    expect(can0?.stuffing?.sampled).toBe(16 + 2 + 1);
    expect(can1?.load).toBeGreaterThan(0);
    expect(surveyTable(table, {}).buses.map((bus) => [bus.load, bus.peakLoad])).toEqual([
      [null, null],
      [null, null],
    ]);
  });

  it('finds where the whole bus was silent, and only there', () => {
    expect(survey.buses.map((bus) => bus.gaps.length)).toEqual([1, 0]);
    expect(survey.buses[0]?.gaps[0]?.fromS).toBeCloseTo(20, 1);
  });

  it('a pause of the logger loses no single frames, not even of identifiers too slow to notice', () => {
    const pause = [20e6, 21e6] as const;
    const slow: Sender = { bus: 'can0', id: 0x300, periodUs: 400_000, data: () => [1], silent: pause };
    const fast: Sender = { bus: 'can0', id: 0x301, periodUs: 10_000, data: () => [1], silent: pause };
    const paused = surveyTable(buildTable([slow, fast].flatMap((sender) => framesOf(sender, 60e6))), {});
    for (const row of paused.frames) {
      expect(row.missed).toBe(0);
      expect(row.gaps).toHaveLength(1);
    }
    expect(paused.buses[0]?.gaps).toHaveLength(1);
  });

  it('of a span counts the span alone, in times of the whole capture', () => {
    const part = surveyTable(table, rates, { fromS: 10, toS: 15 });
    expect(part.capture).toMatchObject({ startS: 10, durationS: 5 });
    expect(part.capture.frames).toBe(
      table.streams.reduce((sum, s) => sum + s.timeUs.filter((us) => us >= 10e6 && us <= 15e6).length, 0),
    );
    const wheel = part.frames.find((frame) => frame.id === '0x1F4');
    expect(wheel?.firstS).toBeGreaterThanOrEqual(10);
    expect(wheel?.timing.periodMs).toBeCloseTo(10, 1);
    expect(part.buses[0]?.load).toBeGreaterThan(survey.buses[0]?.load ?? 1);
  });
});

describe('stamps', () => {
  const stamped = (stamps: number[]): FrameTable =>
    buildTable(stamps.map((timeUs) => ({ timeUs, bus: 'b', id: 1, data: [0] })));

  it.each([
    [[0, 3000, 7000, 11000], 1000],
    [[0, 10, 30, 70], 10],
    [[0, 1, 3, 8], 1],
    [[0, 0.1, 0.3, 1.2], 0.1],
    [[0, 1e6, 3e6], 1e6],
  ])('%j are multiples of %f us', (stamps, stepUs) => {
    expect(stampResolution(stamped(stamps))).toBe(stepUs);
  });

  it('a capture without stamps gets no period and says why', () => {
    const numbered = buildTable(
      Array.from({ length: 50 }, (_, i) => ({ timeUs: i, bus: 'b', id: 1, data: [i] })),
      { kind: 'none', text: '0' },
    );
    const { frames: rows, capture } = surveyTable(numbered, {});
    expect(rows[0]?.timing.periodMs).toBeNull();
    expect(rows[0]?.timingWhy).toContain('no stamps');
    expect(capture.clock.verdict).toContain('nothing may be said about time');
  });

  it('frames with the stamp of the one before are counted over the whole bus', () => {
    expect(countSameStamps(Float64Array.of(0, 0, 1, 2, 2, 2))).toBe(3);
    const fourAStamp = buildTable(
      Array.from({ length: 200 }, (_, i) => ({ timeUs: Math.floor(i / 4) * 1000, bus: 'b', id: i % 4, data: [] })),
    );
    expect(surveyTable(fourAStamp, {}).capture.clock.sameStampShare).toBe(0.75);
  });

  /** Without data a frame takes 47 us at 1 Mbit/s (ISO 11898-1): a step of 1 ms holds 21. */
  const sharing = (frames: number, everyMs: number): string => {
    const at = (i: number): number => 1000 * everyMs * Math.floor(i / frames);
    const rows = Array.from({ length: 100 * frames }, (_, i) => ({
      timeUs: at(i),
      bus: 'b',
      id: i % frames,
      data: [],
    }));
    return surveyTable(buildTable(rows), {}).capture.clock.verdict;
  };

  it('frames that share a stamp because as many fit into its step were not fetched together', () => {
    expect(sharing(4, 1)).toContain('as many fit into one step of 1 ms');
    expect(sharing(4, 1)).not.toContain('batches');
  });

  it('more frames with one stamp than fit into its step were fetched together', () => {
    expect(sharing(30, 1)).toContain('delivered in batches');
  });

  it('frames that share a stamp and never lie on both sides of a step were fetched together', () => {
    // Every 7 or 11 ms by turns: no step but that of 1 ms shows.
    const rows = Array.from({ length: 1000 }, (_, i) => {
      const batch = Math.floor(i / 5);
      return { timeUs: 1000 * (9 * batch + 2 * (batch % 2)), bus: 'b', id: i % 5, data: [] };
    });
    expect(surveyTable(buildTable(rows), {}).capture.clock.verdict).toContain('delivered in batches');
  });

  it('silences are intervals beyond the limit', () => {
    expect(silences(Float64Array.of(0, 1e6, 5e6, 6e6), 2e6)).toEqual([{ fromS: 1, toS: 5 }]);
  });
});

// Source: ISO 15765-4 (legislated identifiers), as quoted in SAE J1979: requests 7DF and 7E0 to 7E7, answers 7E8 to 7EF; 29 bits 18DB33F1
// and 18DAxxF1, answers 18DAF1xx.
describe('questions and answers', () => {
  const at = (id: number, timesMs: number[], direction: 'received' | 'sent' = 'received'): PlainFrame[] =>
    timesMs.map((ms) => ({ timeUs: ms * 1000, bus: 'can0', id, data: [1], direction }));
  const asks = Array.from({ length: 20 }, (_, i) => 500 * i + (i % 3) * 40);

  it.each([
    [0x7df, 0x7e8, false, true],
    [0x7e3, 0x7eb, false, true],
    [0x7e3, 0x7e8, false, false],
    [0x18db33f1, 0x18daf110, true, true],
    [0x18da10f1, 0x18daf110, true, true],
    [0x18da11f1, 0x18daf110, true, false],
    [0x1f4, 0x1fc, false, false],
  ])('%i and %i: %s', (request, reply, extended, expected) => {
    const [a, b] = buildTable(
      [...at(request, [0]), ...at(reply, [1])].map((frame) => ({ ...frame, extended })),
    ).streams;
    const streamOf = (id: number) => [a, b].find((stream) => stream?.id === id) as NonNullable<typeof a>;
    expect(isDiagnosticPair(streamOf(request), streamOf(reply))).toBe(expected);
  });

  it('an answer names its question and the usual delay; the asking is the logger’s own', () => {
    const capture = buildTable([
      ...at(0x7e3, asks, 'sent'),
      ...at(
        0x7eb,
        asks.map((ms) => ms + 7),
      ),
    ]);
    const reply = surveyTable(capture, {}).frames.find((frame) => frame.id === '0x7EB');
    expect(reply?.timing).toMatchObject({ kind: 'reply', replyTo: '0x7E3', delayMs: 7, periodMs: null });
    expect(reply?.gaps).toEqual([]);
  });

  it('an identifier of that range that no question precedes is no answer', () => {
    const capture = buildTable([...at(0x7e3, [9_000], 'sent'), ...at(0x7eb, asks)]);
    expect(surveyTable(capture, {}).frames.find((frame) => frame.id === '0x7EB')?.timing.kind).not.toBe('reply');
  });
});
