/**
 * Recordings whose clocks misbehave, made from a bus of three steady identifiers: what is found, where,
 * and that time afterwards is what it was on the bus (seeds in the titles' generator: 26).
 */
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../../src/kit/random.ts';
import type { FrameTable } from '../../../src/frames/table.ts';
import { readBytes, reportOf } from './reading.ts';

interface Event {
  readonly t: number;
  readonly bus: string;
  readonly id: number;
}

const STEADY = [
  [0x100, 0.01],
  [0x200, 0.02],
  [0x300, 0.1],
] as const;

function busTime(
  from: number,
  to: number,
  bus = 'can0',
  ids: readonly (readonly [number, number])[] = STEADY,
): Event[] {
  const random = createRandom(26);
  const events: Event[] = [];
  for (const [id, period] of ids)
    for (let t = from + random.next() * period; t < to; t += period) events.push({ t, bus, id });
  return events.sort((a, b) => a.t - b.t);
}

/** Log lines whose payload is the frame's number, stamped by `stamp`. */
const log = (events: readonly Event[], stamp: (t: number, row: number) => number): string =>
  events
    .map(
      ({ t, bus, id }, row) =>
        `(${stamp(t, row).toFixed(6)}) ${bus} ${id.toString(16)}#${row.toString(16).padStart(8, '0')}\n`,
    )
    .join('');

/** [frames] seconds from the origin, by the number in the payload. */
function instants(table: FrameTable): number[] {
  const found: number[] = [];
  for (const { timeUs, payload, stride, count } of table.streams) {
    for (let i = 0; i < count; i++) {
      const row = new DataView(payload.buffer, payload.byteOffset + i * stride).getUint32(0);
      found[row] = (timeUs[i] as number) / 1e6;
    }
  }
  return found;
}

/** The greatest difference to the bus's own time, the origin taken from the first frame. */
function worstError(table: FrameTable, events: readonly Event[]): number {
  const start = Math.min(...events.map(({ t }) => t));
  const found = instants(table);
  expect(found).toHaveLength(events.length);
  return events.reduce((worst, { t }, row) => Math.max(worst, Math.abs((found[row] as number) - (t - start))), 0);
}

const EPOCH = 1_764_064_800;
const kinds = (table: FrameTable): string[] => reportOf(table).clockEvents.map(({ kind }) => kind);
const EXACT = 2e-6;

describe('clocks that misbehave', () => {
  it.each([
    ['minute', 60, 200],
    ['second', 1, 20],
    ['hour', 3600, 3700],
    ['16-bit counter of milliseconds', 65.536, 200],
    ['32-bit counter of microseconds', 4294.967296, 4310],
  ])('stamps that start over every %s', async (_title, period, until) => {
    const events = busTime(until - Math.min(until, 150), until);
    const table = await readBytes(log(events, (t) => t % period));
    expect(new Set(kinds(table))).toEqual(new Set(['wrap']));
    expect(worstError(table, events)).toBeLessThan(EXACT);
  });

  it('a restart: what follows is placed 1 s later', async () => {
    const first = busTime(5, 20);
    const table = await readBytes(log([...first, ...busTime(5, 30)], (t) => t));
    expect(reportOf(table).clockEvents).toMatchObject([{ kind: 'restart', line: first.length + 1 }]);
    expect(table.endUs / 1e6).toBeCloseTo(15 + 1 + 25, 1);
  });

  it('a restart with two buses: both keep together', async () => {
    const both = (to: number) =>
      [...busTime(0, to), ...busTime(0, to, 'can1', [[0x400, 0.01]])].sort((a, b) => a.t - b.t);
    const table = await readBytes(log([...both(20), ...both(10)], (t) => t));
    expect(kinds(table)).toEqual(['restart', 'restart']);
    const ends = table.streams.map(({ timeUs, count }) => timeUs[count - 1] as number);
    expect(Math.max(...ends) - Math.min(...ends)).toBeLessThan(100_000);
  });

  it('a clock set back by 5 s: time goes on', async () => {
    const events = busTime(0, 60);
    const table = await readBytes(log(events, (t) => EPOCH + (t < 30 ? t : t - 5)));
    expect(kinds(table)).toEqual(['jump-back']);
    expect(worstError(table, events)).toBeLessThan(0.02);
  });

  it.each([0.1, 0.8])(
    'a clock set back by %d s in the middle of a long recording: frames keep their order',
    async (backS) => {
      const events = busTime(0, 120);
      const table = await readBytes(log(events, (t) => EPOCH + (t < 60 ? t : t - backS)));
      expect(kinds(table)).toEqual(['jump-back']);
      expect(table.frameCount).toBe(events.length);
      expect(worstError(table, events)).toBeLessThan(0.02);
    },
  );

  it('a clock set back twice: time goes on both times', async () => {
    const events = busTime(0, 90);
    const table = await readBytes(log(events, (t) => EPOCH + t - 0.7 * Math.floor(t / 30)));
    expect(kinds(table)).toEqual(['jump-back', 'jump-back']);
    expect(worstError(table, events)).toBeLessThan(0.04);
  });

  it('a clock set right after 5 s: what came before is moved to end there', async () => {
    const events = busTime(0, 20);
    const table = await readBytes(log(events, (t) => (t < 5 ? 100 + t : EPOCH + t)));
    expect(kinds(table)).toEqual(['jump-forward']);
    expect(table.origin.kind).toBe('epoch');
    expect(worstError(table, events)).toBeLessThan(0.02);
  });

  it('a silence: reported and left alone', async () => {
    const events = [...busTime(0, 5), ...busTime(25, 30)];
    const table = await readBytes(log(events, (t) => EPOCH + t));
    expect(kinds(table)).toEqual(['jump-forward']);
    expect(worstError(table, events)).toBeLessThan(EXACT);
  });

  it('a lonely first row: it gets the stamp of the second', async () => {
    const table = await readBytes(log(busTime(0, 10), (t, row) => (row === 0 ? EPOCH - 4000 : EPOCH + t)));
    expect(reportOf(table).clockEvents).toMatchObject([{ kind: 'lonely-first-row', line: 1, atS: 0 }]);
    expect(table.endUs / 1e6).toBeLessThan(10);
  });

  it('single stamps far off: placed between their neighbours', async () => {
    const events = busTime(0, 20);
    const table = await readBytes(log(events, (t, row) => (row === 700 ? 0 : row === 900 ? EPOCH + 5e8 : EPOCH + t)));
    expect(kinds(table)).toEqual(['jump-back', 'jump-forward']);
    expect(worstError(table, events)).toBeLessThan(0.03);
  });

  it('a block that arrives late: sorted, not moved', async () => {
    const all = busTime(0, 30);
    const within = (from: number, to: number) => all.filter(({ t }) => t >= from && t < to);
    const events = [...within(0, 10), ...within(11, 20), ...within(10, 11), ...within(20, 30)];
    const table = await readBytes(log(events, (t) => EPOCH + t));
    expect(worstError(table, events)).toBeLessThan(EXACT);
    expect(reportOf(table).outOfOrder).toBe(1);
  });

  it('two recordings of different identifiers, one behind the other on one bus name: sorted, not moved', async () => {
    const events = [...busTime(0, 20), ...busTime(0, 20, 'can0', [[0x400, 0.01]])];
    const table = await readBytes(log(events, (t) => EPOCH + t));
    expect(kinds(table)).toEqual([]);
    expect(worstError(table, events)).toBeLessThan(EXACT);
  });

  it('two buses one behind the other: each is in order, nothing is reported', async () => {
    const events = [...busTime(0, 20), ...busTime(0, 20, 'can1')];
    const table = await readBytes(log(events, (t) => EPOCH + t));
    expect(kinds(table)).toEqual([]);
    expect(reportOf(table).outOfOrder).toBe(0);
    expect(worstError(table, events)).toBeLessThan(EXACT);
  });

  it('frames late by milliseconds: counted and sorted', async () => {
    const events = busTime(0, 5);
    const swapped = events.map((event, row) =>
      row % 10 === 3 ? (events[row + 1] ?? event) : row % 10 === 4 ? (events[row - 1] as Event) : event,
    );
    const table = await readBytes(log(swapped, (t) => EPOCH + t));
    expect(kinds(table)).toEqual([]);
    expect(reportOf(table).outOfOrder).toBeGreaterThan(50);
    expect(worstError(table, swapped)).toBeLessThan(EXACT);
  });
});
