import { describe, expect, it } from 'vitest';
import { bitPositions, codedValue, rawReader, readRawBig, writeRaw, type Placement } from '../../src/frames/bits.ts';

// Source: the project's contract (docs/signal-map.md), payload 12 34 56 78, values written by hand.
const PAYLOAD = Uint8Array.of(0x12, 0x34, 0x56, 0x78);
const place = (byte: number, bit: number, length: number, order: 'little' | 'big'): Placement => ({
  lsb: { byte, bit },
  length,
  order,
});

describe('the bit rule', () => {
  it.each([
    ['little, lsb byte 1 bit 4, 12 bits', place(1, 4, 12, 'little'), 0x563],
    ['big, lsb byte 2 bit 4, 12 bits', place(2, 4, 12, 'big'), 0x345],
    ['big, lsb byte 3 bit 0, 16 bits', place(3, 0, 16, 'big'), 0x5678],
  ])('reads the hand-written value: %s', (_title, placement, expected) => {
    expect(rawReader(placement)(PAYLOAD, 0)).toBe(expected);
    expect(readRawBig(placement, PAYLOAD)).toBe(BigInt(expected));
  });

  it('joins the pieces of a split value, each more significant than the one before', () => {
    const split: Placement = { ...place(3, 0, 8, 'little'), continues: [place(0, 0, 4, 'little')] };
    expect(rawReader(split)(PAYLOAD, 0)).toBe(0x278);
    expect(bitPositions(split)).toEqual([24, 25, 26, 27, 28, 29, 30, 31, 0, 1, 2, 3]);
  });

  it('writes what it reads and touches no other bit', () => {
    const placement = place(2, 4, 12, 'big');
    const payload = Uint8Array.of(0xff, 0xff, 0xff, 0xff);
    writeRaw(placement, 0x345, payload);
    expect([...payload]).toEqual([0xff, 0x34, 0x5f, 0xff]);
  });

  it('takes each coding by its rule', () => {
    expect(codedValue(0xfff, 'signed', 12)).toBe(-1);
    expect(codedValue(0x805, 'sign-magnitude', 12)).toBe(-5);
    expect(codedValue(0x1234, 'bcd', 16)).toBe(1234);
    expect(codedValue(0x12a4, 'bcd', 16)).toBeNaN();
    expect(codedValue(0x3f800000, 'float', 32)).toBe(1);
  });
});
