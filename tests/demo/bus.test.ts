import { describe, expect, it } from 'vitest';
import { arbitrationKey } from '../../src/demo/recording/arbitrate.ts';
import { frameAt, payloadAt } from '../../src/demo/recording/logger.ts';
import type { TrueFrame, VehicleBus } from '../../src/demo/true-frame.ts';
import { findStream } from '../../src/frames/table.ts';
import { leastBits, wireBits, wireSeconds, worstCaseBits } from '../../src/frames/wire.ts';
import { PROFILE_NAMES, postVanSample, profileSample, sampleOf, type Sample } from './drives.ts';
import { makePostVan } from '../../src/demo/post-van.ts';

/** Share of bus time taken by frames between two moments, by exact frame lengths. */
function loadOf({ drive, vehicle }: Sample, bus: number, fromS: number, toS: number): number {
  const { recording } = drive;
  let busyS = 0;
  for (let row = 0; row < recording.count; row++) {
    const frame = frameAt(recording, row);
    const timeS = (recording.timeUs[row] as number) / 1e6;
    if (frame.bus !== bus || timeS < fromS || timeS >= toS) continue;
    const bits = wireBits({ ...frame, payload: payloadAt(recording, row), rateSwitch: frame.fd });
    busyS += wireSeconds(bits, vehicle.buses[bus] as VehicleBus);
  }
  return busyS / (toS - fromS);
}

/** Frames of one bus that ended sooner after the one before than they take on the wire. */
function overlaps({ drive, vehicle }: Sample): number {
  const { recording } = drive;
  const lastUs = vehicle.buses.map(() => -Infinity);
  let found = 0;
  for (let row = 0; row < recording.count; row++) {
    const frame = frameAt(recording, row);
    const timeUs = recording.timeUs[row] as number;
    const rate = vehicle.buses[frame.bus] as VehicleBus;
    const leastUs = frame.fd ? 0 : (1e6 * leastBits(frame.map.length, frame.extended)) / rate.bitrate;
    if (timeUs - (lastUs[frame.bus] as number) < leastUs - 1.001) found++;
    lastUs[frame.bus] = timeUs;
  }
  return found;
}

describe('arbitration (ISO 11898-1: dominant bits win, a base frame beats an extended one with the same first 11 bits)', () => {
  it('orders identifiers as the wire does', () => {
    const wins = (a: [number, boolean], b: [number, boolean]): boolean => arbitrationKey(...a) < arbitrationKey(...b);
    expect(wins([0x100, false], [0x101, false])).toBe(true);
    expect(wins([0x100, false], [0x100 << 18, true])).toBe(true);
    expect(wins([(0x0ff << 18) | 0x3ffff, true], [0x100, false])).toBe(true);
    expect(wins([0x12c40018, true], [0x12c41018, true])).toBe(true);
    expect(wins([0x7ff, false], [0x1fffffff, true])).toBe(true);
  });
});

describe('the buses of simulated vehicles', () => {
  it('carry a plausible load: post van between 20 and 60 %, each second bus less', () => {
    const sample = postVanSample();
    const main = loadOf(sample, 0, 30, 80);
    const second = loadOf(sample, 1, 30, 80);
    expect(main).toBeGreaterThan(0.2);
    expect(main).toBeLessThan(0.6);
    expect(second).toBeGreaterThan(0.02);
    expect(second).toBeLessThan(main);
  });

  it.each(PROFILE_NAMES)('never carry two frames at once: profile %s', (profile) => {
    const sample = profileSample(profile, 1);
    expect(overlaps(sample)).toBe(0);
    expect(loadOf(sample, 0, 30, 60)).toBeLessThan(0.75);
  });

  it('hand relayed frames to the other bus with the same payload, 0.1 to 8 ms later', () => {
    const sample = postVanSample();
    const copies = sample.vehicle.frames.filter(({ copyOf }) => copyOf !== null);
    expect(copies.length).toBe(3);
    for (const copy of copies) {
      const original = sample.vehicle.frames[copy.copyOf as number] as TrueFrame;
      const here = findStream(sample.table, {
        bus: 'can1',
        id: copy.id,
        extended: copy.extended,
        direction: 'received',
      });
      const there = findStream(sample.table, {
        bus: 'can0',
        id: original.id,
        extended: original.extended,
        direction: 'received',
      });
      expect(here?.count).toBe(there?.count);
      expect(Buffer.from(here?.payload ?? []).equals(there?.payload ?? new Uint8Array(1))).toBe(true);
      const delays = Array.from(here?.timeUs ?? [], (timeUs, row) => timeUs - (there?.timeUs[row] as number));
      expect(Math.min(...delays)).toBeGreaterThan(100);
      expect(Math.max(...delays)).toBeLessThan(8000);
    }
  });

  it('use less than the worst case of every frame (Davis et al. 2007): 135 bits for 8 bytes', () => {
    expect(worstCaseBits(8, false)).toBe(135);
  });
});

describe('the clocks of the modules', () => {
  /** Mean interval over the longest stretch without a silence, ms. */
  function meanIntervalMs(timeUs: Float64Array, periodMs: number): number {
    let [from, bestFrom, bestTo] = [0, 0, 0];
    for (let row = 1; row <= timeUs.length; row++) {
      const silent = row === timeUs.length || (timeUs[row] as number) - (timeUs[row - 1] as number) > 1500 * periodMs;
      if (!silent) continue;
      if (row - 1 - from > bestTo - bestFrom) [bestFrom, bestTo] = [from, row - 1];
      from = row;
    }
    return ((timeUs[bestTo] as number) - (timeUs[bestFrom] as number)) / 1000 / (bestTo - bestFrom);
  }

  it('show in the periods: within 12 ppm of the module over 80 s', () => {
    const { vehicle, table } = postVanSample();
    let looked = 0;
    for (const frame of vehicle.frames) {
      if (
        frame.kind !== 'periodic' ||
        frame.network ||
        frame.diagnostic ||
        frame.copyOf !== null ||
        frame.periodMs > 100
      )
        continue;
      const stream = findStream(table, {
        bus: frame.map.bus,
        id: frame.id,
        extended: frame.extended,
        direction: 'received',
      });
      if (!stream || stream.count * frame.periodMs < 70_000) continue;
      const { skewPpm } = (vehicle.modules[frame.module] as Sample['vehicle']['modules'][number]).habits.timing;
      const ppm = (meanIntervalMs(stream.timeUs, frame.periodMs) / frame.periodMs - 1) * 1e6;
      expect(Math.abs(ppm + skewPpm), `${frame.map.name}: ${ppm} against ${-skewPpm}`).toBeLessThan(12);
      looked++;
    }
    expect(looked).toBeGreaterThan(15);
  });

  it('the logger rounds and batches its stamps as asked', () => {
    const van = makePostVan();
    const rounded = sampleOf(van, 3, { durationS: 30, begins: 'ready', ends: 'ready' }, { resolutionUs: 1000 }).drive
      .recording;
    expect(rounded.timeUs.every((timeUs) => timeUs % 1000 === 0)).toBe(true);
    const batched = sampleOf(van, 3, { durationS: 30, begins: 'ready', ends: 'ready' }, { batchMs: 5 }).drive.recording;
    expect(batched.timeUs.every((timeUs) => timeUs % 5000 === 0)).toBe(true);
    expect(new Set(batched.timeUs).size).toBeLessThan(batched.count / 3);
  });

  it('the logger stops for as long as asked', () => {
    const shape = { durationS: 30, begins: 'ready', ends: 'ready' } as const;
    const { timeUs, count } = sampleOf(makePostVan(), 3, shape, { holeS: 0.9 }).drive.recording;
    const silences = Array.from(
      { length: count - 1 },
      (_, row) => (timeUs[row + 1] as number) - (timeUs[row] as number),
    );
    expect(Math.max(...silences) / 1e6).toBeCloseTo(0.9, 1);
  });

  it('the logger loses frames in bursts and says how many', () => {
    const whole = sampleOf(makePostVan(), 3, { durationS: 30, begins: 'ready', ends: 'ready' }).drive.recording;
    const torn = sampleOf(
      makePostVan(),
      3,
      { durationS: 30, begins: 'ready', ends: 'ready' },
      { lossBursts: 5, lossMost: 40 },
    ).drive.recording;
    expect(whole.lost).toBe(0);
    expect(torn.lost).toBeGreaterThanOrEqual(5);
    expect(torn.count + torn.lost).toBe(whole.count);
  });
});
