/** Flags that say on which side of a bound a number beside them is. The drives are our own; no outside source. */
import { describe, expect, it } from 'vitest';
import { boundBits } from '../../src/fields/bounds.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, placeKey, writeColumn } from './support/streams.ts';

const COUNT = 1500;
const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});

/** [COUNT] a pedal: at rest, pressed to some depth, held, let go. */
function pedal(seed: string): number[] {
  const random = createRandom(seed);
  let [value, target, holds] = [0, 0, 60];
  return Array.from({ length: COUNT }, () => {
    if (--holds < 0) [target, holds] = [target > 0 ? 0 : 300 + random.below(650), 40 + random.below(90)];
    value += (target - value) * 0.15;
    return Math.round(value);
  });
}

const ones = new Uint8Array(COUNT).fill(1);

describe('a flag beside a number', () => {
  it('costs little told the bound that it stands for, late or not, and much where it goes its own way', () => {
    const values = pedal('cost');
    const pressed = values.map((value) => (value > 25 ? 1 : 0));
    const late = pressed.map((_, row) => pressed[Math.max(0, row - 2)]!);
    const random = createRandom('own way');
    let own = 0;
    const strange = pressed.map(() => (random.next() < 0.012 ? (own = 1 - own) : own));
    const [told, delayed, apart] = [pressed, late, strange].map((flag) => boundBits(values, 10, flag, ones));
    expect(told).toBeLessThan(40);
    expect(delayed).toBeLessThan(100);
    expect(apart).toBeGreaterThan(delayed!);
    expect(boundBits(values, 10, new Uint8Array(COUNT), ones)).toBe(Infinity);
  });

  it.each([1, 2, 3, 4])('is a flag where it says that the number is zero, draw %i', (draw) => {
    const values = pedal(`bound ${draw}`);
    const columns = [
      [place(1, 0, 10), values],
      [place(2, 2, 1), values.map((value) => (value > 0 ? 0 : 1))],
    ] as const;
    const payload = new Uint8Array(COUNT * 8);
    for (const [placement, column] of columns) writeColumn(payload, 8, placement, column);
    const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(fields.map((field) => placeKey(field as Placement)).sort()).toEqual(columns.map(([at]) => placeKey(at)));
  });

  it.each([1, 2, 3, 4])('of the same payload is the top bit of a number that carries into it, draw %i', (draw) => {
    const values = pedal(`carries ${draw}`);
    const payload = new Uint8Array(COUNT * 8);
    writeColumn(payload, 8, place(1, 0, 10), values);
    const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(fields.map((field) => placeKey(field as Placement))).toEqual([placeKey(place(1, 0, 10))]);
  });

  it.each([0, 0.4, 0.8, 1.2])('is the top bit of a value that swings about a power of two, phase %f', (phase) => {
    const values = Array.from({ length: COUNT }, (_, row) => Math.round(100 + 40 * Math.sin(row / 30 + phase)));
    const payload = new Uint8Array(COUNT * 8);
    writeColumn(payload, 8, place(1, 0, 8), values);
    const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(fields.map((field) => placeKey(field as Placement))).toEqual([placeKey(place(1, 0, 8))]);
    const [upper, lower] = [values.map((value) => value >> 7), values.map((value) => value & 127)];
    expect(boundBits(lower, 7, upper, ones)).toBe(Infinity);
  });
});
