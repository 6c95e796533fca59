/**
 * Codes for "error" and "not available" (SAE J1939-71, from memory: most significant byte FE and FF, values end at FA) in values that
 * are measured otherwise.
 */
import { describe, expect, it } from 'vitest';
import type { Stream } from '../../src/frames/table.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { fieldSeries } from '../../src/map/field-series.ts';
import { makeStream, physicalWalk, writeColumn } from './support/streams.ts';

const COUNT = 3000;

function streamOf(values: Float64Array, bytes: 1 | 2, extended = true): Stream {
  const payload = new Uint8Array(COUNT * bytes);
  writeColumn(payload, bytes, { lsb: { byte: 0, bit: 0 }, length: 8 * bytes, order: 'little' }, values);
  return { ...makeStream(payload, bytes, 0x18fe1121), extended };
}

/** Two spells of codes within a drive. */
const withSpells = (values: Float64Array, error: number, absent: number): Float64Array =>
  values.map((value, row) => (row >= 900 && row < 960 ? error : row >= 2000 && row < 2100 ? absent : value));

describe('reserved codes on 29-bit identifiers', () => {
  const walk = physicalWalk(createRandom('reserved'), COUNT, 2000, 9000);

  it('are told of a value of two bytes, whatever their low byte, and are no part of what was observed', () => {
    const stream = streamOf(withSpells(walk, 0xfe17, 0xffff), 2);
    const [field] = findFieldsOfStream(stream, {}).fields;
    expect(field?.invalid).toEqual([
      { from: 0xfe00, to: 0xfeff, meaning: 'error' },
      { from: 0xff00, to: 0xffff, meaning: 'not available' },
    ]);
    expect(field?.coding).toBe('unsigned');
    expect(field?.observed?.max).toBeLessThanOrEqual(9000);
    expect(field?.why).toContain('codes kept for error and not available');
    const { value } = fieldSeries(stream, field as NonNullable<typeof field>, []);
    expect(value).toHaveLength(COUNT - 160);
    expect(Math.max(...value)).toBeLessThanOrEqual(9000);
  });

  it('are told of a value of one byte, only those that were seen', () => {
    const bytes = physicalWalk(createRandom('byte'), COUNT, 20, 140);
    const [field] = findFieldsOfStream(streamOf(withSpells(bytes, 0xff, 0xff), 1), {}).fields;
    expect(field?.invalid).toEqual([{ from: 0xff, to: 0xff, meaning: 'not available' }]);
  });

  it('are values of a signed one that goes through zero', () => {
    const signed = physicalWalk(createRandom('signed'), COUNT, 100, 700).map((value) =>
      value < 400 ? value + 65136 : value - 400,
    );
    const [field] = findFieldsOfStream(streamOf(signed, 2), {}).fields;
    expect(field?.coding).toBe('signed');
    expect(field?.invalid).toEqual([]);
  });

  it('are values on 11-bit identifiers', () => {
    const [field] = findFieldsOfStream(streamOf(withSpells(walk, 0xfe17, 0xffff), 2, false), {}).fields;
    expect(field?.invalid).toEqual([]);
  });

  it('are values where they are come to by small steps, or where what lies between is used as well', () => {
    const rising = Float64Array.from({ length: COUNT }, (_, row) => 0xe000 + ((row * 37) % 0x2000));
    expect(findFieldsOfStream(streamOf(rising, 2), {}).fields[0]?.invalid).toEqual([]);
    const between = findFieldsOfStream(streamOf(withSpells(walk, 0xfc00, 0xffff), 2), {}).fields[0];
    expect(between?.invalid).toEqual([]);
  });
});
