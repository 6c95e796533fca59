/** The health of a logger's clock, on recordings made here: what is lost, when it paused, how it jumped and what it steps by are known. */
import { describe, expect, it } from 'vitest';
import { runSteps } from '../../src/frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { rollingValues, type RollingValue } from '../../src/timing/clock/rolling.ts';
import { surveyTable } from '../../src/timing/survey.ts';
import type { SurveyClock } from '../../src/timing/types.ts';
import { tableOfFrames } from './two-loggers.ts';

interface Row {
  readonly id: number;
  readonly timeUs: number;
  readonly payload: Uint8Array;
}
type Payload = (tick: number, timeS: number, random: Random) => readonly number[];

/** One identifier on a period, its payload from the number of the frame since the sender began. */
function sends(seed: string, id: number, periodS: number, durationS: number, payload: Payload): Row[] {
  const random = createRandom(`${seed}/${id}`);
  const phase = random.next() * periodS;
  const period = periodS * (1 + random.normal() * 2e-5);
  return Array.from({ length: Math.floor(durationS / periodS) }, (_, tick) => {
    const timeS = phase + tick * period - Math.log(1 - random.next()) * 1e-4;
    return { id, timeUs: Math.round(timeS * 1e6), payload: Uint8Array.from(payload(tick, timeS, random)) };
  });
}

const tableOfRows = (rows: readonly Row[]): FrameTable =>
  tableOfFrames([{ name: 'can0', rows: [...rows].sort((a, b) => a.timeUs - b.timeUs) }]);

const rollingOf = (rows: readonly Row[]): RollingValue[] =>
  runSteps(rollingValues(tableOfRows(rows).streams[0] as Stream));

const noise = (random: Random): number => random.below(256);
const counter =
  (modulus: number): Payload =>
  (tick, _, random) => [noise(random), random.below(16) * 16 + (tick % modulus), 7, noise(random)];

describe('rolling values', () => {
  it.each([15, 16])(
    'of a nibble that goes round by %i say which frames are missing (3 % lost, 2000 frames)',
    (modulus) => {
      const all = sends('lost', 0x100, 0.02, 40, counter(modulus));
      const random = createRandom('which');
      const isLost = all.map((_, i) => i > 0 && i < all.length - 1 && random.next() < 0.03);
      const [value, ...others] = rollingOf(all.filter((_, i) => !isLost[i]));
      expect(others).toEqual([]);
      expect(value?.place).toEqual({ byte: 1, bit: 0, length: 4, order: 'little' });
      expect(value).toMatchObject({
        step: 1,
        min: 0,
        max: modulus - 1,
        lost: isLost.filter(Boolean).length,
        unknown: 0,
      });
      expect(value?.restarts).toHaveLength(0);
    },
  );

  it.each([
    ['a byte', ((tick) => [tick & 255, 1]) as Payload, { byte: 0, bit: 0, length: 8 }],
    [
      'three bits',
      ((tick, _, random) => [noise(random), ((tick & 7) << 5) | random.below(32)]) as Payload,
      { byte: 1, bit: 5, length: 3 },
    ],
    [
      'a nibble that falls',
      ((tick, _, random) => [15 - (tick & 15), noise(random)]) as Payload,
      { byte: 0, bit: 0, length: 4 },
    ],
  ])('are found in %s', (_, payload, place) => {
    const values = rollingOf(sends('place', 0x100, 0.02, 20, payload));
    expect(values.map((value) => value.place)).toMatchObject([place]);
    expect(values[0]?.lost).toBe(0);
  });

  it.each<[string, number, Payload]>([
    ['an odometer', 0.02, (_, timeS) => [Math.floor(timeS / 3) & 255, Math.floor(timeS / 768) & 255]],
    ['a ramp over two bytes', 0.02, (tick) => [tick & 255, tick >> 8]],
    ['a clock in milliseconds', 0.01, (_, timeS) => [Math.floor(timeS * 1000) & 255, (timeS * 1000) >> 8]],
    ['seconds and minutes', 1, (tick) => [tick % 60, Math.floor(tick / 60)]],
    ['noise', 0.02, (_, __, random) => [noise(random), noise(random)]],
    ['a toggle', 0.02, (tick) => [tick & 1, 5]],
    ['a triangle', 0.02, (tick) => [Math.abs((tick % 40) - 20), 0]],
  ])('are not seen in %s', (_, periodS, payload) => {
    expect(rollingOf(sends('no counter', 0x100, periodS, periodS * 1500, payload))).toEqual([]);
  });

  it('begin anew where the sender does', () => {
    const before = sends('anew', 0x100, 0.02, 20, counter(16));
    const after = sends('anew', 0x100, 0.02, 20, (tick, timeS, random) => counter(16)(tick, timeS, random));
    const cut = before.slice(0, 506);
    const endUs = cut[cut.length - 1]?.timeUs as number;
    const rows = [...cut, ...after.map((row) => ({ ...row, timeUs: row.timeUs + endUs + 75_000 }))];
    const [value] = rollingOf(rows);
    expect([...(value?.restarts ?? [])]).toEqual([506]);
    expect(value?.lost).toBe(0);
  });

  it('count whole turns by the time that passed: 100 frames missing at once', () => {
    const all = sends('hole', 0x100, 0.02, 40, counter(15));
    expect(rollingOf([...all.slice(0, 700), ...all.slice(800)])[0]?.lost).toBe(100);
  });
});

/** Eight identifiers with counters, four without. */
function traffic(seed: string, durationS: number): Row[] {
  const periods = [0.01, 0.02, 0.02, 0.05, 0.1, 0.1, 0.2, 0.5];
  const counted = periods.map((period, i) => sends(seed, 0x100 + 16 * i, period, durationS, counter(i % 2 ? 15 : 16)));
  const plain = periods
    .slice(2, 6)
    .map((period, i) => sends(seed, 0x400 + 16 * i, period, durationS, (_, __, r) => [noise(r), 1, 2, 3]));
  return [...counted, ...plain].flat().sort((a, b) => a.timeUs - b.timeUs);
}

const clockOf = (rows: readonly Row[]): SurveyClock => surveyTable(tableOfRows(rows), {}).capture.clock;
const restamped = (rows: readonly Row[], stamp: (us: number) => number): Row[] =>
  rows.map((row) => ({ ...row, timeUs: Math.round(stamp(row.timeUs)) }));

describe('frames lost', () => {
  it('are counted, and carried over to all identifiers', () => {
    const random = createRandom('losses');
    const all = traffic('losses', 60);
    const kept = all.filter(() => random.next() >= 0.01);
    const { lost, verdict } = clockOf(kept);
    expect(lost).toMatchObject({ counters: 8, inPauses: 0, restarts: 0 });
    const { frames, se } = lost?.inAll as { frames: number; se: number };
    expect(Math.abs(frames - (all.length - kept.length))).toBeLessThan(3 * se + 0.15 * frames);
    expect(verdict).toMatch(/Frames lost: \d+ by 8 counters/);
  });

  it('are none in a whole recording', () => {
    expect(clockOf(traffic('whole', 30)).lost).toMatchObject({ frames: 0, untold: 0, restarts: 0, leftOut: 0 });
  });
});

describe('a silence of the whole bus', () => {
  const all = traffic('pause', 40);
  it('is the logger’s where counters went on', () => {
    const rows = all.filter(({ timeUs }) => timeUs < 20e6 || timeUs > 21.3e6);
    expect(clockOf(rows).pauses).toMatchObject([{ who: 'logger' }]);
    expect(clockOf(rows).jumps).toEqual([]);
  });

  it('is a jump of the clock where counters stood still and all phases moved by it', () => {
    const { pauses, jumps, verdict } = clockOf(restamped(all, (us) => (us < 20e6 ? us : us + 321_000)));
    expect(jumps).toHaveLength(1);
    expect(jumps[0]?.byS).toBeCloseTo(0.321, 3);
    expect(pauses).toMatchObject([{ who: 'clock' }]);
    expect(verdict).toContain('The clock itself jumped: +321 ms');
  });
});

describe('a sleep of the whole bus', () => {
  /** Two or three modules count, each begins anew when it wakes, a moment after the first. */
  const slept = (seed: number): Row[] => {
    const ids = [0.01, 0.02, 0.05, 0.1, 0.1, 0.2].map((period, i) => ({
      period,
      id: 0x100 + i,
      count: i < 2 + (seed % 2),
    }));
    return ids.flatMap(({ period, id, count }) => {
      const payload: Payload = count ? counter(16) : (_, __, random) => [noise(random), 1, 2, noise(random)];
      const before = sends(`evening ${seed}`, id, period, 30, payload);
      const wokenUs = 36e6 + 173_000 * seed + 7000 * (id - 0x100);
      const after = sends(`morning ${seed}`, id, period, 30, payload).map((row) => ({
        ...row,
        timeUs: row.timeUs + wokenUs,
      }));
      return [...before, ...after];
    });
  };

  it('loses no frames and moves no clock, though counters that begin anew fit by chance (24 sleeps)', () => {
    const clocks = Array.from({ length: 24 }, (_, seed) => clockOf(slept(seed)));
    expect(clocks.map(({ lost }) => lost?.frames)).toEqual(clocks.map(() => 0));
    expect(clocks.flatMap(({ jumps }) => jumps)).toEqual([]);
    expect(clocks.flatMap(({ pauses }) => pauses).filter(({ who, lost }) => who !== 'unknown' || lost > 0)).toEqual([]);
  });
});

describe('a jump of the clock', () => {
  it.each([8, 30, -6])('by %i ms is found though no stamp betrays it', (byMs) => {
    const rows = restamped(traffic('jump', 40), (us) => (us < 20e6 ? us : us + 1000 * byMs));
    const { jumps } = clockOf(rows);
    expect(jumps).toHaveLength(1);
    expect(1000 * (jumps[0]?.byS as number)).toBeCloseTo(byMs, 0);
    expect(jumps[0]?.atS).toBeCloseTo(20, 0);
  });

  // 350 ms are whole periods of 10 and of 50 ms: no phase of theirs moves, and they say nothing against it.
  it.each(['a', 'b', 'c'])('by whole periods of half the identifiers is seen in the others, seed %s', (seed) => {
    const periods = [0.01, 0.01, 0.05, 0.05, 0.05, 0.05, 0.1, 0.1, 0.2, 0.4, 0.5, 1, 2];
    const rows = periods.flatMap((period, i) => sends(`${seed} forward`, 0x100 + i, period, 120, counter(16)));
    const { jumps, pauses, verdict } = clockOf(restamped(rows, (us) => (us < 60e6 ? us : us + 350_000)));
    expect(jumps).toHaveLength(1);
    expect(jumps[0]?.byS).toBeCloseTo(0.35, 3);
    expect(pauses).toMatchObject([{ who: 'clock' }]);
    expect(verdict).not.toContain('bus itself was silent');
  });

  it.each(['a', 'b', 'c'])('does not loosen the timing of identifiers that are seldom sent, seed %s', (seed) => {
    const periods = [0.01, 0.01, 0.02, 0.05, 0.1, 0.2, 1, 2, 2.5];
    const rows = periods.flatMap((period, i) => sends(`${seed} seldom`, 0x100 + i, period, 60, counter(16)));
    const jitters = (all: readonly Row[]): (number | null)[] =>
      surveyTable(tableOfRows(all), {}).frames.map(({ timing }) => timing.jitterMs);
    const whole = jitters(restamped(rows, (us) => us));
    const jumped = jitters(restamped(rows, (us) => (us < 31e6 ? us : us + 133_000)));
    periods.forEach((_, i) => expect(jumped[i]).toBeLessThan(2 * (whole[i] as number) + 0.05));
  });

  it.each(['a', 'b', 'c'])('is seen though one identifier moves alone right after it, seed %s', (seed) => {
    const periods = [0.02, 0.02, 0.1, 0.1, 0.2, 0.4, 0.5, 1, 2];
    const rows = periods.flatMap((period, i) => sends(`${seed} lone`, 0x100 + i, period, 120, counter(16)));
    const lone = (us: number): number => us + (us < 60.17e6 ? 0 : 7000);
    const moved = rows.map((row) => (row.id === 0x100 ? { ...row, timeUs: lone(row.timeUs) } : row));
    const { jumps } = clockOf(restamped(moved, (us) => (us < 60e6 ? us : us + 330_000)));
    expect(jumps).toHaveLength(1);
    expect(jumps[0]?.byS).toBeCloseTo(0.33, 3);
    expect(jumps[0]?.moved).toBeGreaterThanOrEqual(8);
  });

  it('is not claimed for a millisecond of four identifiers where the others are too rough to show it', () => {
    const random = createRandom('rough');
    const fine = [0.02, 0.05, 0.1, 0.1].flatMap((period, i) => sends('fine', 0x100 + i, period, 40, counter(16)));
    const rough = [0.02, 0.05, 0.1, 0.1, 0.05, 0.02, 0.1, 0.1].flatMap((period, i) =>
      sends('rough', 0x200 + i, period, 40, counter(16)).map((row) => ({
        ...row,
        timeUs: row.timeUs + random.below(2000),
      })),
    );
    const moved = restamped(fine, (us) => (us < 20e6 ? us : us + 1400));
    expect(clockOf([...moved, ...rough]).jumps).toEqual([]);
  });

  it('is not claimed where one module of three starts anew', () => {
    const rows = traffic('module', 40).map((row) =>
      row.id < 0x140 && row.timeUs > 20e6 ? { ...row, timeUs: row.timeUs + 7000 } : row,
    );
    expect(clockOf(rows).jumps).toEqual([]);
  });
});

describe('stamps', () => {
  it.each([
    ['1/32768 s', 1e6 / 32768, 1],
    ['1.024 ms', 1024, 2],
    ['0.25 ms', 250, 50],
  ])('that count ticks of %s are seen through their decimals', (words, tickUs, resolutionUs) => {
    const clock = clockOf(restamped(traffic('tick', 30), (us) => Math.floor(us / tickUs) * tickUs));
    expect(clock.resolutionUs).toBe(resolutionUs);
    expect(clock.tick?.words).toContain(words);
  });

  it('of a clock without such ticks show none', () => {
    expect(clockOf(traffic('fine', 30)).tick).toBeNull();
  });

  it('of frames that were fetched in batches are said to be', () => {
    // Fetched every 8 ms and stamped 20 us apart then: 8 bytes take 111 us at 1 Mbit/s (ISO 11898-1), 4 take 79.
    let [fetchedUs, place] = [0, 0];
    const rows = traffic('batches', 30).map((row) => {
      const own = Math.ceil(row.timeUs / 8000) * 8000;
      place = own === fetchedUs ? place + 1 : 0;
      fetchedUs = own;
      return { ...row, timeUs: own + 20 * place };
    });
    const { batches, verdict } = clockOf(rows);
    expect(batches).toHaveLength(1);
    expect(batches[0]?.distanceUs).toBeCloseTo(8000, -2);
    expect(verdict).toContain('fetched in batches');
  });
});
