/** Codings by definition (no source: the readings follow from the contract's words), and spans that only their steps or fillings tell. */
import { describe, expect, it } from 'vitest';
import { decideCoding } from '../../src/fields/coding.ts';
import { divide, UNBIASED } from '../../src/fields/divide.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { runThrough } from '../../src/fields/steps.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const COUNT = 3000;
const swing = Float64Array.from({ length: COUNT }, (_, row) => Math.round(900 * Math.sin(row / 60)));
const HALF = 2 ** 11;

const piece = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});

describe('codings', () => {
  it('takes the reading under which a value crosses zero without a leap', () => {
    const two = swing.map((value) => (value < 0 ? value + 2 * HALF : value));
    const magnitude = swing.map((value) => (value < 0 ? HALF - value : value));
    const offset = swing.map((value) => value + HALF);
    expect(decideCoding(two, 12).coding).toBe('signed');
    expect(decideCoding(magnitude, 12).coding).toBe('sign-magnitude');
    expect(decideCoding(offset, 12).coding).toBe('unsigned');
  });

  it('calls a value without a crossing unsigned', () => {
    expect(decideCoding(swing.map(Math.abs), 12)).toMatchObject({ coding: 'unsigned', throughZero: 0 });
  });

  it('takes what a module sends before it knows better for no crossing', () => {
    const speed = Float64Array.from({ length: COUNT }, (_, row) => (row < 40 ? 4095 : row - 40));
    expect(decideCoding(speed, 12).coding).toBe('unsigned');
    const asleep = Float64Array.from({ length: COUNT }, (_, row) => (row < 40 ? 0 : 4000 + (row % 7)));
    expect(decideCoding(asleep, 12).coding).toBe('unsigned');
    const temperature = Float64Array.from({ length: COUNT }, (_, row) => (row < 40 ? HALF : 20 + (row % 3)));
    expect(decideCoding(temperature, 12)).toMatchObject({ coding: 'signed', throughZero: 0, bySmallness: false });
  });

  it('sees no sign in leaps from rest into the upper half, however often', () => {
    // A charger's view of the mains: nothing, or some 230 V in steps of half a volt.
    const mains = Float64Array.from({ length: COUNT }, (_, row) => (row % 300 < 150 ? 0 : 458 + ((row * 7) % 5)));
    expect(decideCoding(mains, 9).coding).toBe('unsigned');
    const dimmer = Float64Array.from({ length: COUNT }, (_, row) => (row % 300 < 150 ? 0 : 9));
    expect(decideCoding(dimmer, 4).coding).toBe('unsigned');
  });

  it('sees a sign in leaps to numbers that with one are all small', () => {
    const current = Float64Array.from({ length: COUNT }, (_, row) => (row % 300 < 150 ? 0 : 65486 + ((row * 7) % 5)));
    expect(decideCoding(current, 16)).toEqual({ coding: 'signed', throughZero: 0, bySmallness: true });
  });

  it('sees no sign in an angle that turns fast', () => {
    const random = createRandom('turns');
    const readings = [37, 410, 990, 1500, 1890, 2040].map((step) => {
      let angle = 0;
      const turning = Float64Array.from({ length: COUNT }, (_, row) => {
        angle = (angle + step * Math.sin(row / 400) + 20 * random.next() + 4096) % 4096;
        return Math.floor(angle);
      });
      return decideCoding(turning, 12).coding;
    });
    expect(readings).toEqual(readings.map(() => 'unsigned'));
  });

  it('sees no sign in a few leaps to anywhere', () => {
    const random = createRandom('leaps');
    const readings = Array.from({ length: 400 }, () => {
      const leaps = Float64Array.from({ length: 6 }, () => Math.floor(random.next() * 2 * HALF));
      return decideCoding(leaps, 12).coding;
    });
    expect(readings.filter((coding) => coding !== 'unsigned').length / readings.length).toBeLessThan(0.1);
  });

  it('sees decimal digits, and none in a value that shows others', () => {
    const digits = Float64Array.from({ length: 100 }, (_, value) => Math.floor(value / 10) * 16 + (value % 10));
    expect(decideCoding(digits, 8).coding).toBe('bcd');
    expect(
      decideCoding(
        Float64Array.from({ length: 100 }, (_, value) => value),
        8,
      ).coding,
    ).toBe('unsigned');
    expect(decideCoding(digits.subarray(0, 9), 8).coding).toBe('unsigned');
  });
});

describe('spans by how they step', () => {
  it('keeps a value whole that climbs and falls by the same step', () => {
    const ramp = Float64Array.from({ length: COUNT }, (_, row) => Math.abs(((417 * row) % 100000) - 50000));
    const payload = new Uint8Array(COUNT * 4);
    writeColumn(payload, 4, piece(1, 0, 16), ramp);
    const rows = rowsOfStream(makeStream(payload, 4));
    const usable = new Uint8Array(4).fill(0xff);
    const { spans } = runThrough(divide(rows, movedMask(rows), usable, { decisions: [], orderBits: UNBIASED }));
    expect(spans.map((span) => placeKey(span))).toEqual([placeKey(piece(1, 0, 16))]);
  });

  it('keeps a sign with its magnitude though the value often goes far past zero in one step', () => {
    const random = createRandom('far past zero');
    const count = 1200;
    const half = 2 ** 9;
    const payload = new Uint8Array(count * 4);
    const swinging = Float64Array.from({ length: count }, (_, row) => {
      const value = Math.round(half * (0.9 * Math.sin(row / 3) + 0.02 * random.normal()));
      const size = Math.min(half - 1, Math.abs(value));
      return value < 0 ? half + size : size;
    });
    writeColumn(payload, 4, { lsb: { byte: 1, bit: 0 }, length: 10, order: 'little' }, swinging);
    const { fields } = findFieldsOfStream(makeStream(payload, 4), {});
    expect(fields.map(({ lsb, length, coding }) => [lsb.byte, length, coding])).toEqual([[1, 10, 'sign-magnitude']]);
  });

  it('takes a bit that only ever fell where the fillings ended for the top of a wider value', () => {
    const payload = new Uint8Array(COUNT * 4);
    const wakes = 40;
    const filled = (values: Float64Array, ones: number): Float64Array =>
      values.map((value, row) => (row < wakes ? ones : value));
    const flag = Float64Array.from({ length: COUNT }, (_, row) => Math.floor(row / 700) % 2);
    writeColumn(payload, 4, piece(0, 0, 2), filled(flag, 3));
    writeColumn(payload, 4, piece(2, 0, 16), filled(physicalWalk(createRandom('wakes'), COUNT, 0, 9000), 65535));
    const found = findFieldsOfStream(makeStream(payload, 4), {}).fields.map((field) => placeKey(field as Placement));
    expect(found).toContain(placeKey(piece(0, 0, 2)));
  });
});
