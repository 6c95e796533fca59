/** The payload maker itself: its slow checksums against published values, its truth against its own frames. */
import { describe, expect, it } from 'vitest';
import { bitPositions } from '../../../src/frames/bits.ts';
import { Sight } from '../fields-truth.ts';
import { payloadDrive, type PayloadCondition } from './payload/make-payloads.ts';
import { addAround, divide } from './payload/slow-checks.ts';

const DIGITS = [...'123456789'].map((digit) => digit.charCodeAt(0));
const rule = (width: number, poly: number, init: number, reflected: boolean, xorout: number) => ({
  width,
  poly,
  init,
  reflected,
  xorout,
});

describe('slow checksums', () => {
  // Check values of the CRC of "123456789": SAE J1850, AUTOSAR SWS CRC (8H2F, 32 P4), ITU-T V.41 and Modbus as commonly listed; from memory.
  it.each([
    ['1D FF/FF', rule(8, 0x1d, 0xff, false, 0xff), 0x4b],
    ['1D 00/00', rule(8, 0x1d, 0, false, 0), 0x37],
    ['2F FF/FF', rule(8, 0x2f, 0xff, false, 0xff), 0xdf],
    ['31 reflected', rule(8, 0x31, 0, true, 0), 0xa1],
    ['1021 FFFF', rule(16, 0x1021, 0xffff, false, 0), 0x29b1],
    ['1021 reflected FFFF/FFFF', rule(16, 0x1021, 0xffff, true, 0xffff), 0x906e],
    ['8005 reflected FFFF', rule(16, 0x8005, 0xffff, true, 0), 0x4b37],
    ['04C11DB7', rule(32, 0x04c11db7, 0xffffffff, true, 0xffffffff), 0xcbf43926],
    ['F4ACFB13', rule(32, 0xf4acfb13, 0xffffffff, true, 0xffffffff), 0x1697d06a],
  ])('divide by %s', (_, parameters, expected) => {
    expect(divide(parameters, DIGITS)).toBe(expected);
  });

  it('guards eight zero bytes as AUTOSAR profile 1 and 5 do (PRS E2E protocol, R20-11 tables)', () => {
    const zeros = [0, 0, 0, 0, 0, 0, 0];
    expect(divide(rule(8, 0x1d, 0, false, 0), [0x23, 0x01, ...zeros])).toBe(0xcc);
    expect(divide(rule(16, 0x1021, 0xffff, false, 0), [...zeros.slice(1), 0x34, 0x12])).toBe(0xca1c);
  });

  it('brings what leaves at the top in again at the bottom', () => {
    expect(addAround([0xff, 0x02])).toBe(0x02);
  });
});

const CONDITION: PayloadCondition = {
  identifiers: [20, 20],
  buses: 2,
  guarded: 0.7,
  keyed: 0.1,
  odd: 0.1,
  paged: 0.4,
  extended: 0.3,
  fd: 0.3,
  durationS: 10,
};

describe.each([1, 2, 3])('payloads of seed %i', (seed) => {
  const drive = payloadDrive('test', CONDITION, seed);

  it('are the same to the bit each time, and others on another drive', () => {
    const same = payloadDrive('test', CONDITION, seed);
    const again = drive.again();
    drive.streams.forEach(({ stream }, index) => {
      expect(same.streams[index]!.stream.payload).toEqual(stream.payload);
      expect(again[index]!.stream.id).toBe(stream.id);
    });
    expect(again[0]!.stream.payload).not.toEqual(drive.streams[0]!.stream.payload);
  });

  it('give no bit to two values of one frame', () => {
    for (const { frame, stream } of drive.streams) {
      const sight = new Sight(stream);
      const whole = [...frame.fields, ...frame.selectors, ...frame.counters, ...frame.checksums];
      const rows = whole.map(({ place, on }) => ({ bits: bitPositions(place), rows: new Set(sight.rowsOf(on).rows) }));
      for (let row = 0; row < Math.min(50, stream.count); row++) {
        const bits = rows.filter((each) => each.rows.has(row)).flatMap((each) => each.bits);
        expect(new Set(bits).size).toBe(bits.length);
        expect(Math.max(...bits, 0)).toBeLessThan(stream.length * 8);
      }
    }
  });

  it('move nothing that the truth does not know', () => {
    for (const { frame, stream } of drive.streams) {
      const known = [...frame.fields, ...frame.selectors, ...frame.counters, ...frame.checksums];
      const bits = new Set([...known.map(({ place }) => place), ...frame.cipher].flatMap(bitPositions));
      const { moved } = new Sight(stream).rowsOf([]);
      for (let at = 0; at < stream.length * 8; at++)
        if (((moved[at >> 3]! >> (at & 7)) & 1) === 1) expect(bits.has(at)).toBe(true);
    }
  });
});
