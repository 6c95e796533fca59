/** Floating-point numbers by definition: their bits are what the language's own Float32Array holds (IEEE 754-2019, binary32; ECMAScript, DataView). */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const COUNT = 1200;
const place = (byte: number, bit: number, length: number, order: 'little' | 'big' = 'little'): Placement => ({
  lsb: { byte, bit },
  length,
  order,
});

/** The bits of numbers, as unsigned numbers. */
const bitsOf = (values: readonly number[]): Float64Array =>
  Float64Array.from(new Uint32Array(Float32Array.from(values).buffer));

function found(columns: readonly (readonly [Placement, Float64Array])[]): (readonly [string, string])[] {
  const payload = new Uint8Array(COUNT * 8);
  for (const [at, values] of columns) writeColumn(payload, 8, at, values);
  const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
  return fields.map((field) => [placeKey(field as Placement), field.coding] as const);
}

/** Smooth, of both signs, through zero and several powers of two. */
const swing = Array.from({ length: COUNT }, (_, row) => 180.3 * Math.sin(row / 37) + 3.1 * Math.sin(row / 5.3));

describe('floating-point spans', () => {
  for (const [words, at] of [
    ['little', place(2, 0, 32)],
    ['big', place(6, 0, 32, 'big')],
    ['little between bytes', place(1, 3, 32)],
  ] as const)
    it(`finds one whole, ${words}`, () => {
      expect(found([[at, bitsOf(swing)]])).toEqual([[placeKey(at), 'float']]);
    });

  it('finds one that was all ones until its module woke', () => {
    const raw = bitsOf(swing).map((bits, row) => (row < 25 ? 2 ** 32 - 1 : bits));
    // With nothing else in the payload, the low bits might as well be a tag over the high ones.
    const beside = Float64Array.from(physicalWalk(createRandom('beside'), COUNT, 0, 60000));
    const claims = found([
      [place(0, 0, 32), raw],
      [place(5, 0, 16), beside],
    ]);
    expect(claims).toContainEqual([placeKey(place(0, 0, 32)), 'float']);
  });

  it('takes no two whole numbers side by side for one, though the upper reads as an exponent', () => {
    const speed = physicalWalk(createRandom('speed'), COUNT, 0, 60000);
    const level = physicalWalk(createRandom('level'), COUNT, 16000, 17500);
    const claims = found([
      [place(0, 0, 16), Float64Array.from(speed)],
      [place(2, 0, 16), Float64Array.from(level)],
    ]);
    expect(claims.map(([, coding]) => coding)).not.toContain('float');
  });
});
