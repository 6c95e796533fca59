/** Numbers whose courses no model foresees are kept whole by their carries; values side by side are not joined. The draws are our own; no outside source. */
import { describe, expect, it } from 'vitest';
import { carryBits } from '../../src/fields/carries.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { PayloadRows } from '../../src/fields/payload-rows.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const COUNT = 3000;
const BYTES = 8;
const LOWER = [0, 1, 2, 3];
const UPPER = [4, 5, 6, 7];

const rowsOf = (values: readonly number[]): PayloadRows => ({
  bytes: 1,
  count: values.length,
  data: Uint8Array.from(values),
  joined: Uint8Array.from(values, (_, row) => (row > 0 ? 1 : 0)),
});

function foundIn(columns: readonly (readonly [Placement, Float64Array])[]): string[] {
  const payload = new Uint8Array(COUNT * BYTES);
  for (const [placement, values] of columns) writeColumn(payload, BYTES, placement, values);
  return findFieldsOfStream(makeStream(payload, BYTES), {})
    .fields.map((field) => placeKey(field as Placement))
    .sort();
}

describe('carries', () => {
  it('speak for one number where the lower part falls as the upper goes up, by the likelihood ratio', () => {
    // From 15 to 16 the lower four bits fall by 15/16 of their range: log2(1 + 0.9 * 15/16), worked by hand.
    expect(carryBits(rowsOf([15, 16]), LOWER, UPPER)).toBeCloseTo(Math.log2(1.84375), 9);
    expect(carryBits(rowsOf([16, 15]), LOWER, UPPER)).toBeCloseTo(Math.log2(1.84375), 9);
    expect(carryBits(rowsOf([0, 31]), LOWER, UPPER)).toBeCloseTo(Math.log2(1 - 0.84375), 9);
    expect(carryBits(rowsOf([3, 9]), LOWER, UPPER)).toBe(0);
  });

  it('speak as much where a single bit above was seen to move, up or down', () => {
    expect(carryBits(rowsOf([15, 16]), LOWER, [4])).toBeCloseTo(Math.log2(1.84375), 9);
    expect(carryBits(rowsOf([16, 15]), LOWER, [4])).toBeCloseTo(Math.log2(1.84375), 9);
    expect(carryBits(rowsOf([31, 0]), LOWER, [4])).toBeCloseTo(Math.log2(1 - 0.84375), 9);
  });

  it('are not looked for over a gap of the capture', () => {
    const rows = rowsOf([15, 16]);
    expect(carryBits({ ...rows, joined: new Uint8Array(2) }, LOWER, UPPER)).toBe(0);
  });

  it('keep a value whole that lies at zero, but for noise, between pulses', () => {
    const random = createRandom('pulses');
    const value: Placement = { lsb: { byte: 2, bit: 0 }, length: 14, order: 'little' };
    const course = Float64Array.from({ length: COUNT }, (_, row) => {
      const pulse = Math.max(0, Math.sin(row / 70)) ** 3 * 9000;
      return Math.max(0, Math.min(16000, Math.round(pulse + 300 * random.normal())));
    });
    expect(foundIn([[value, course]])).toEqual([placeKey(value)]);
  });

  it.each([1, 2, 3, 4, 5, 6])('join no two values side by side that walk on their own, draw %i', (draw) => {
    const random = createRandom(`side by side ${draw}`);
    const lower: Placement = { lsb: { byte: 2, bit: 0 }, length: 8, order: 'little' };
    const upper: Placement = { lsb: { byte: 3, bit: 0 }, length: 8, order: 'little' };
    const columns = [lower, upper].map((each) => [each, physicalWalk(random, COUNT, 0, 255)] as const);
    expect(foundIn(columns)).toEqual([lower, upper].map(placeKey).sort());
  });
});
