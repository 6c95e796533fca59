import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { compareTables } from '../../src/proof/compare.ts';

type Source = (tick: number) => number[];
/** Frames of each identifier every `periodMs` for a minute; the key is "bus/id". */
function capture(sources: Record<string, { periodMs: number; data: Source; until?: number }>) {
  const frames: PlainFrame[] = Object.entries(sources).flatMap(([key, { periodMs, data }]) => {
    const [bus, id] = key.split('/') as [string, string];
    const count = Math.floor(60_000 / periodMs);
    // A few microseconds of spread, as on any bus.
    return Array.from({ length: count }, (_, i) => ({
      timeUs: Math.round(i * periodMs * 1000 + ((i * 7919) % 97)),
      bus,
      id: Number(id),
      data: data(i),
    }));
  });
  return buildTable(frames);
}

const ramp: Source = (i) => [i & 255, (i >> 2) & 255, 7, 1];
const whole = capture({
  'can0/0x100': { periodMs: 10, data: ramp },
  'can0/0x101': { periodMs: 20, data: ramp },
  'can0/0x102': { periodMs: 100, data: ramp },
  'can1/0x200': { periodMs: 10, data: ramp },
  'can1/0x201': { periodMs: 50, data: ramp },
});

describe('a module unplugged, adapter leads swapped', () => {
  const without = capture({
    'can1/0x100': { periodMs: 10, data: (i) => [i & 255, 0xff, 7, 1] },
    'can1/0x101': { periodMs: 40, data: ramp },
    'can1/0x300': { periodMs: 100, data: ramp },
    'can0/0x200': { periodMs: 10, data: (i) => [i & 255, 3, 9, 1] },
    'can0/0x201': { periodMs: 50, data: (i) => (i < 300 ? ramp(i) : ramp(300)) },
  });
  const found = compareTables(whole, without);
  const short = ({ bus, id }: { bus: string; id: string }) => `${bus} ${id}`;

  it('matches the buses by their identifiers', () => {
    expect(found.buses).toEqual({ can0: 'can1', can1: 'can0' });
  });
  it('finds what is only in one', () => {
    expect(found.onlyInA.map(short)).toEqual(['can0 0x102']);
    expect(found.onlyInA[0]).toMatchObject({ count: 600, expected: 600 });
    expect(found.onlyInB.map(short)).toEqual(['can1 0x300']);
  });
  it('finds the changed period and no other', () => {
    expect(found.timingChanged).toHaveLength(1);
    const [change] = found.timingChanged;
    expect(change).toMatchObject({ bus: 'can0', id: '0x101', extended: false });
    expect(change?.periodMsA).toBeCloseTo(20, 2);
    expect(change?.periodMsB).toBeCloseTo(40, 2);
  });
  it('says how payload bytes changed', () => {
    expect(found.payloadChanged).toMatchObject([
      { bus: 'can0', id: '0x100', extended: false, bytes: [1], how: 'filling' },
      { bus: 'can1', id: '0x200', extended: false, bytes: [1], how: 'became constant' },
      { bus: 'can1', id: '0x200', extended: false, bytes: [2], how: 'other constant' },
      { bus: 'can1', id: '0x201', extended: false, bytes: [0, 1], how: 'frozen' },
    ]);
  });
});

describe('nothing is claimed where nothing changed', () => {
  it('finds no difference between a capture and itself', () => {
    const { onlyInA, onlyInB, timingChanged, payloadChanged, errors, warnings } = compareTables(whole, whole);
    expect({ onlyInA, onlyInB, timingChanged, payloadChanged, errors, warnings }).toEqual({
      onlyInA: [],
      onlyInB: [],
      timingChanged: [],
      payloadChanged: [],
      errors: [],
      warnings: [],
    });
  });
  it('takes no byte for constant that seldom moved before', () => {
    const seldom = capture({ 'can0/0x100': { periodMs: 100, data: (i) => [i < 300 ? 1 : 2] } });
    const still = capture({ 'can0/0x100': { periodMs: 100, data: () => [2] } });
    expect(compareTables(seldom, still).payloadChanged).toEqual([]);
  });
  it('sees the way back too', () => {
    const still = capture({ 'can0/0x100': { periodMs: 10, data: () => [0xff, 5] } });
    const moving = capture({ 'can0/0x100': { periodMs: 10, data: (i) => [i & 255, i & 15] } });
    expect(compareTables(still, moving).payloadChanged.map(({ how }) => how)).toEqual([
      'filling ended',
      'began to move',
    ]);
  });
  it('takes buses as told', () => {
    expect(compareTables(whole, whole, { busMap: { can0: 'can1', can1: 'can0' } }).onlyInA).toHaveLength(5);
  });
});
