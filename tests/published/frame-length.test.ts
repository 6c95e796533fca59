/**
 * Lengths of frames on the wire against published values.
 * Sources: R. I. Davis, A. Burns, R. J. Bril, J. J. Lukkien, "Controller Area Network (CAN) schedulability analysis: Refuted,
 * revisited and revised", Real-Time Systems 35 (2007), section 2 and equation 1; ISO 11898-1 for formats and length codes.
 */
import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import {
  classicalBits,
  codeOfLength,
  countStuffBits,
  crc15,
  leastBits,
  lengthOfCode,
  wireBits,
  wireSeconds,
  worstCaseBits,
  type WireFrame,
} from '../../src/frames/wire.ts';

const bitsOfText = (text: string): number[] =>
  [...new TextEncoder().encode(text)].flatMap((byte) => [7, 6, 5, 4, 3, 2, 1, 0].map((bit) => (byte >> bit) & 1));

/** A second stuffer, slow and separate: writes the bits as text and breaks every run of five as a sender does. */
function stuffedText(bits: readonly number[]): string {
  let out = '';
  for (const bit of bits) {
    if (/(00000|11111)$/.test(out)) out += out.endsWith('0') ? '1' : '0';
    out += bit;
  }
  return /(00000|11111)$/.test(out) ? out + (out.endsWith('0') ? '1' : '0') : out;
}

const classicalFrame = fc.record({
  extended: fc.boolean(),
  number: fc.nat(0x1fffffff),
  payload: fc.oneof(
    fc.uint8Array({ maxLength: 8 }),
    fc.array(fc.constantFrom(0x00, 0xff, 0x0f, 0xf8, 0x1f), { maxLength: 8 }).map((bytes) => Uint8Array.from(bytes)),
  ),
});
const asFrame = ({
  extended,
  number,
  payload,
}: {
  extended: boolean;
  number: number;
  payload: Uint8Array;
}): WireFrame => ({
  id: extended ? number : number & 0x7ff,
  extended,
  payload,
});

describe('classical frames (Davis et al. 2007, equation 1)', () => {
  it.each([
    [8, false, 135],
    [8, true, 160],
    [0, false, 55],
    [0, true, 80],
  ])('%i bytes, extended %s: at most %i bits', (bytes, extended, bits) => {
    expect(worstCaseBits(bytes, extended)).toBe(bits);
  });

  it.each([0, 1, 2, 3, 4, 5, 6, 7, 8])('%i bytes without stuffing: 47 + 8s and 67 + 8s', (bytes) => {
    expect(leastBits(bytes, false)).toBe(47 + 8 * bytes);
    expect(leastBits(bytes, true)).toBe(67 + 8 * bytes);
  });

  it('135 bits last 270 us at 500 kbit/s', () => {
    expect(wireSeconds({ nominal: 135, data: 0, stuff: 24 }, { bitrate: 500_000, dataBitrate: null })).toBeCloseTo(
      270e-6,
      12,
    );
  });

  it('no content is longer than the worst case or shorter than the bare frame', () => {
    fc.assert(
      fc.property(classicalFrame.map(asFrame), (frame) => {
        const { nominal } = wireBits(frame);
        expect(nominal).toBeGreaterThanOrEqual(leastBits(frame.payload.length, frame.extended));
        expect(nominal).toBeLessThanOrEqual(worstCaseBits(frame.payload.length, frame.extended));
      }),
      { numRuns: 500 },
    );
  });

  it('the bound is met by the pattern that the paper draws: five equal bits, then groups of four', () => {
    const bits = [1, 1, 1, 1, 1];
    for (let level = 0; bits.length < 34 + 64; level = 1 - level) bits.push(level, level, level, level);
    const exposed = bits.slice(0, 34 + 64);
    expect(countStuffBits(exposed)).toBe(Math.floor((34 + 64 - 1) / 4));
  });
});

describe('stuffing, against a second stuffer', () => {
  it('counts the bits that it would add, and leaves no run of six', () => {
    fc.assert(
      fc.property(classicalFrame.map(asFrame), (frame) => {
        const bits = classicalBits(frame);
        const text = stuffedText(bits);
        expect(text).not.toMatch(/000000|111111/);
        expect(countStuffBits(bits)).toBe(text.length - bits.length);
      }),
      { numRuns: 500 },
    );
  });
});

// Source of the check value: checks of the Rocksoft model (Williams 1993), width 15, poly 4599, start 0, not reflected.
describe('the check sequence of classical frames', () => {
  it('gives 059E over ASCII "123456789" (width 15, poly 4599, start 0: published CRC catalogue value)', () => {
    expect(crc15(bitsOfText('123456789'))).toBe(0x059e);
  });

  it('is a codeword: the CRC over the bits with their CRC is 0', () => {
    fc.assert(
      fc.property(classicalFrame.map(asFrame), (frame) => {
        expect(crc15(classicalBits(frame))).toBe(0);
      }),
    );
  });
});

describe('length codes (ISO 11898-1)', () => {
  it('CAN FD holds 0..8, 12, 16, 20, 24, 32, 48, 64 bytes', () => {
    const lengths = Array.from({ length: 16 }, (_, code) => lengthOfCode(code, true));
    expect(lengths).toEqual([0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64]);
    expect(lengths.map((bytes) => codeOfLength(bytes, true))).toEqual(lengths.map((_, code) => code));
  });

  it('a classical code of 9 to 15 means 8 bytes', () => {
    expect([8, 9, 12, 15].map((code) => lengthOfCode(code, false))).toEqual([8, 8, 8, 8]);
  });
});

// Formats from memory of ISO 11898-1:2015 (the text is not free): arbitration phase of a base frame is start 1 + identifier 11 + RRS,
// IDE, FDF, res, BRS = 17 bits; data phase ESI 1 + length code 4 + data + stuff count 4 + CRC 17 or 21 with a fixed stuff
// bit first and after each fourth bit + delimiter 1; then acknowledge 2, end of frame 7, between frames 3.
describe('CAN FD frames (ISO 11898-1:2015, from memory)', () => {
  const alternating = (bytes: number): WireFrame => ({
    id: 0x2aa,
    extended: false,
    payload: new Uint8Array(bytes).fill(0x55),
    fd: true,
    rateSwitch: true,
  });

  it.each([
    [8, 17, 6],
    [16, 17, 6],
    [20, 21, 7],
    [64, 21, 7],
  ])('%i bytes: CRC of %i bits and %i fixed stuff bits', (bytes, crc, fixed) => {
    const { nominal, data, stuff } = wireBits(alternating(bytes));
    expect(stuff).toBe(fixed);
    expect(nominal).toBe(17 + 2 + 7 + 3);
    expect(data).toBe(1 + 4 + 8 * bytes + 4 + crc + fixed + 1);
  });

  it('a run of five at the end of the data is broken by the fixed stuff bit, not by one more', () => {
    const ending = { ...alternating(2), payload: Uint8Array.of(0x55, 0x5f) };
    expect(wireBits({ ...ending, payload: Uint8Array.of(0x55, 0x40) }).stuff).toBe(6 + 1);
    expect(wireBits({ ...ending, payload: Uint8Array.of(0x55, 0x60) }).stuff).toBe(6);
  });

  it('without rate switching all bits go at the rate of the bus', () => {
    const slow = wireBits({ ...alternating(8), rateSwitch: false });
    expect(slow.data).toBe(0);
    expect(slow.nominal).toBeGreaterThanOrEqual(29 + 97);
  });

  it('no frame sends dynamic stuff bits more often than every fourth exposed bit', () => {
    fc.assert(
      fc.property(fc.uint8Array({ maxLength: 64 }), fc.nat(0x7ff), (payload, id) => {
        const bytes = lengthOfCode(codeOfLength(payload.length, true), true);
        const { stuff } = wireBits({ id, extended: false, payload, fd: true, rateSwitch: true });
        const fixed = bytes > 16 ? 7 : 6;
        expect(stuff - fixed).toBeLessThanOrEqual(Math.floor((22 + 8 * bytes - 1) / 4));
      }),
    );
  });
});

describe('remote frames', () => {
  it('carry their length code and no data', () => {
    const remote = wireBits({ id: 0x2aa, extended: false, payload: new Uint8Array(8), remote: true });
    expect(remote.nominal - remote.stuff).toBe(47);
  });
});
