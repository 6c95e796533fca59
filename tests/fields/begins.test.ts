/** How values begin, and payloads that come a few times only. Common practice, no source. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { heldOnes, onesBeside } from '../../src/fields/held-ones.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, placeKey, writeColumn } from './support/streams.ts';

const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});

function found(count: number, columns: readonly (readonly [Placement, ArrayLike<number>])[]): string[] {
  const payload = new Uint8Array(count * 8);
  for (const [placement, values] of columns) writeColumn(payload, 8, placement, values);
  return findFieldsOfStream(makeStream(payload, 8), {})
    .fields.map((field) => placeKey(field as Placement))
    .sort();
}

describe('a value that is zero until it is known', () => {
  it.each([1, 2, 3, 4])('keeps its top bits, which move then and never again, draw %i', (draw) => {
    const random = createRandom(`volts ${draw}`);
    const volts = Array.from({ length: 800 }, (_, row) => (row < 20 ? 0 : 3820 + Math.round(2 * random.normal())));
    expect(found(800, [[place(2, 0, 12), volts]])).toEqual([placeKey(place(2, 0, 12))]);
  });
});

describe('ones that stay behind a filling', () => {
  const rows = (columns: readonly (readonly [Placement, ArrayLike<number>])[]) => {
    const payload = new Uint8Array(300 * 8).fill(0xff);
    for (const [placement, values] of columns) writeColumn(payload, 8, placement, values);
    return rowsOfStream(makeStream(payload, 8));
  };
  const known = (value: number): number[] => Array.from({ length: 300 }, (_, row) => (row < 15 ? 0xff : value));

  it('make a value dearer that ends at them, the more so where unused bits are zeros', () => {
    const usable = new Uint8Array(8).fill(0xff);
    const full = rows([[place(2, 0, 8), known(0x34)]]);
    const [ones, free] = [heldOnes(full, movedMask(full), usable), movedMask(full)];
    const below = onesBeside(ones, 16, 19, 'little');
    expect(below).toBeGreaterThan(0);
    expect(onesBeside(ones, 22, 23, 'little')).toBe(below);
    expect(onesBeside(ones, 16, 23, 'little')).toBe(0);
    const spare = rows([
      [place(2, 0, 8), known(0x34)],
      [place(5, 0, 8), new Array<number>(300).fill(0)],
    ]);
    expect(onesBeside(heldOnes(spare, free, usable), 16, 19, 'little')).toBeGreaterThan(below);
  });
});

describe('payloads that come a few times only', () => {
  it('show flags that move in half of them, as their bytes keep still else', () => {
    const flags = [0, 1, 0, 0, 1, 1, 0, 1, 0];
    expect(found(9, [[place(3, 2, 1), flags]])).toEqual([placeKey(place(3, 2, 1))]);
  });
});
