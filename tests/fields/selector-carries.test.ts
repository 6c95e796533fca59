import { describe, expect, it } from 'vitest';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { carriesOn } from '../../src/fields/selector-carries.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream } from './support/streams.ts';

const COUNT = 2000;
const LOW = { lsb: { byte: 1, bit: 0 }, length: 4, order: 'little' } as const;

/** A big-endian number of 12 bits in bytes 0 and 1 that goes on by so many a row; its low four bits are asked about. */
function carries(valueOf: (row: number) => number): boolean {
  const payload = new Uint8Array(COUNT * 2);
  for (let row = 0; row < COUNT; row++) payload.set([(valueOf(row) >> 8) & 15, valueOf(row) & 255], row * 2);
  const values = Uint8Array.from({ length: COUNT }, (_, row) => valueOf(row) & 15);
  return carriesOn(rowsOfStream(makeStream(payload, 2)), LOW, values);
}

describe('bits that are the low end of a number', () => {
  it.each([1, 2, 3])('are told by the carry where it goes on by %i', (stride) => {
    expect(carries((row) => stride * row)).toBe(true);
  });

  it.each([17, 18, 50])('are told where %i a row turns the bit above, and a carry turns it back', (stride) => {
    expect(carries((row) => stride * row)).toBe(true);
  });

  it('are told where a clock is read a tick early or late now and then', () => {
    const random = createRandom('clock');
    const late = Array.from({ length: COUNT }, () => (random.next() < 0.08 ? 1 : 0));
    expect(carries((row) => 18 * row + (late[row] as number))).toBe(true);
  });

  it('are not numbers of pages that name the bit above, though it turns with each page but where they come round', () => {
    const page = { ...LOW, length: 3 };
    const values = Uint8Array.from({ length: COUNT }, (_, row) => row % 5);
    const payload = Uint8Array.from({ length: COUNT * 2 }, (_, at) => {
      const value = values[at >> 1] as number;
      return at & 1 ? value | ((value & 1) << 3) : 0;
    });
    expect(carriesOn(rowsOfStream(makeStream(payload, 2)), page, values)).toBe(false);
  });

  it('are not numbers of pages beside a bit that turns each row, or by luck', () => {
    expect(carries((row) => (row % 10) | ((row & 1) << 4))).toBe(false);
    const random = createRandom('beside');
    const beside = Array.from({ length: COUNT }, () => random.below(16));
    expect(carries((row) => (row % 10) | ((beside[row] as number) << 4))).toBe(false);
  });
});
