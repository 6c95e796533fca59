/** Maps made by hand around places, codings and tables, with vectors worked out on paper in the comments; no vehicle has these frames. */
import { aFrame, aMap, aSignal } from '../../support/map-parts.ts';
import type { HandMap } from './hand-map.ts';

const crane = aFrame({
  id: '0x2C1',
  name: 'crane_winch',
  signals: [
    aSignal({ name: 'twelve', lsb: { byte: 2, bit: 6 }, length: 12, order: 'big', scale: 0.25 }),
    aSignal({ name: 'thirteen', lsb: { byte: 4, bit: 3 }, length: 13, order: 'big', coding: 'signed', scale: 0.5 }),
    aSignal({ name: 'magnitude', lsb: { byte: 5, bit: 0 }, length: 10, coding: 'sign-magnitude', scale: 2 }),
    aSignal({ name: 'meter', lsb: { byte: 6, bit: 4 }, length: 12, coding: 'bcd' }),
    aSignal({
      name: 'locked',
      lsb: { byte: 6, bit: 2 },
      length: 1,
      kind: 'flag',
      role: 'state',
    }),
  ],
});

export const UNALIGNED: HandMap = {
  name: 'unaligned, big-endian over three bytes, sign and magnitude, packed decimal',
  map: aMap([crane]),
  vectors: [
    {
      // twelve: bits 7..6 of byte 2 (C0: 11) are lowest, byte 1 (5A: 01011010) above, bits 1..0 of byte 0 (02: 10) on top:
      //   10 01011010 11 = 0x96B = 2411; 2411 / 4 = 602.75.
      // thirteen: bits 7..3 of byte 4 (18: 00011), byte 3 (80) above: 10000000 00011 = 4099; 4099 - 8192 = -4093; half is -2046.5.
      // magnitude: byte 5 (05) and bits 1..0 of byte 6 (72: 10): 10 00000101, sign set, magnitude 5: -5; twice is -10.
      // meter: upper half of byte 6 (7) is the last digit, byte 7 (45) the others: 457.
      // locked: bit 2 of 72 (0111 0010) is 0.
      index: 0,
      payload: '02 5A C0 80 18 05 72 45',
      values: { twelve: 602.75, thirteen: -2046.5, magnitude: -10, meter: 457, locked: 0 },
    },
    {
      // Only bit 9 of magnitude is set: a zero with a minus. meter: digits 0, 5 and A: no number. locked: A6 = 1010 0110, bit 2 is 1.
      index: 0,
      payload: '00 00 00 00 00 00 A6 05',
      values: { twelve: 0, thirteen: 0, magnitude: -0, meter: null, locked: 1 },
    },
    {
      // All ones: 4095 / 4; two's complement of all ones is -1, half of it; magnitude 511 with a minus, twice; F is no digit.
      index: 0,
      payload: 'FF FF FF FF FF FF FF FF',
      values: { twelve: 1023.75, thirteen: -0.5, magnitude: -1022, meter: null, locked: 1 },
    },
  ],
};

const logbook = aFrame({
  id: '0x18F0A2C4',
  extended: true,
  length: 64,
  fd: true,
  name: 'logbook',
  signals: [
    aSignal({ name: 'flow', lsb: { byte: 0, bit: 0 }, length: 32, coding: 'float', unit: 'l/min' }),
    aSignal({ name: 'depth', lsb: { byte: 15, bit: 0 }, length: 64, order: 'big', coding: 'float', unit: 'm' }),
    aSignal({ name: 'maker', lsb: { byte: 20, bit: 0 }, length: 48, coding: 'text', kind: 'text' }),
    aSignal({ name: 'berth', lsb: { byte: 37, bit: 0 }, length: 64, order: 'big', coding: 'text', kind: 'text' }),
    aSignal({
      name: 'turns',
      lsb: { byte: 40, bit: 0 },
      length: 64,
      invalid: [{ from: '0xFFFFFFFFFFFFFFF0', to: '0xFFFFFFFFFFFFFFFF', meaning: 'never counted' }],
    }),
    aSignal({ name: 'trim', lsb: { byte: 54, bit: 0 }, length: 24, order: 'big', coding: 'signed', scale: 0.5 }),
    aSignal({ name: 'odd', lsb: { byte: 55, bit: 5 }, length: 37, offset: -1000 }),
  ],
});

export const LOGBOOK: HandMap = {
  name: 'CAN FD, 64 bytes, 29-bit identifier, floats, texts, 64 and 37 bits',
  map: aMap([logbook]),
  vectors: [
    {
      // flow: 1.5 = 1.1b x 2^0: sign 0, exponent 127 = 0x7F, fraction 1000...: 0x3FC00000, lowest byte first.
      // depth: -2.25 = -1.001b x 2^1: sign 1, exponent 1024 = 0x400, fraction 0010...: 0xC002000000000000, highest byte first.
      // maker: 50 55 4D 50 00 00 = PUMP and padding. berth: from the most significant byte down, that is byte 30 on: 50 49 45 52 20 39 00 00.
      // turns: EF CD AB 89 67 45 23 01, lowest byte first: 0x0123456789ABCDEF = 81985529216486895.
      // trim: FF FF FE = -2; half is -1. odd: bits 7..5 of byte 55 (A0: 101), then bytes 56..59 and bits 1..0 of byte 60:
      //   byte 56 = 01 stands at bit 3 of the value: 8 + 5 = 13; 13 - 1000 = -987.
      index: 0,
      payload: [
        '00 00 C0 3F 00 00 00 00 C0 02 00 00 00 00 00 00',
        '00 00 00 00 50 55 4D 50 00 00 00 00 00 00 50 49',
        '45 52 20 39 00 00 00 00 EF CD AB 89 67 45 23 01',
        '00 00 00 00 FF FF FE A0 01 00 00 00 00 00 00 00',
      ].join(' '),
      values: {
        flow: 1.5,
        depth: -2.25,
        maker: 'PUMP',
        berth: 'PIER 9',
        turns: 81985529216486895,
        trim: -1,
        odd: -987,
      },
    },
    {
      // flow: 7FC00000 is no number. depth: 1, the smallest that a double holds, 2^-1074. turns: all ones are no value.
      // odd: 37 ones = 2^37 - 1 = 137438953471; less 1000 is 137438952471.
      index: 0,
      payload: [
        '00 00 C0 7F 00 00 00 00 00 00 00 00 00 00 00 01',
        '00 00 00 00 00 00 00 00 00 00 00 00 00 00 41 00',
        '42 00 00 00 00 00 00 00 FF FF FF FF FF FF FF FF',
        '00 00 00 00 80 00 00 E0 FF FF FF FF 03 00 00 00',
      ].join(' '),
      values: {
        flow: null,
        depth: 2 ** -1074,
        maker: '',
        berth: 'A\0B',
        turns: null,
        // 800000 in 24 bits is -2^23; half of it.
        trim: -4194304,
        odd: 137438952471,
      },
    },
  ],
};

const galley = aFrame({
  id: '0x0',
  name: 'galley',
  length: 5,
  signals: [
    aSignal({
      name: 'stove',
      lsb: { byte: 0, bit: 0 },
      length: 8,
      unit: '\u00b0C',
      table: [
        [0, 150],
        [100, 60.5],
        [200, -40],
      ],
    }),
    aSignal({
      name: 'tank',
      lsb: { byte: 2, bit: 0 },
      length: 12,
      order: 'big',
      table: [
        [16, 0],
        [1040, 64],
        [4095, 96],
      ],
      invalid: [{ from: 2048, to: 2050, meaning: 'float arm stuck' }],
    }),
    aSignal({
      name: 'mixer',
      lsb: { byte: 3, bit: 0 },
      length: 3,
      kind: 'states',
      states: { '0': 'off', '1': 'slow', '4': 'fast' },
      invalid: [{ from: 7, to: 7, meaning: 'no data' }],
    }),
    aSignal({ name: 'down', lsb: { byte: 4, bit: 0 }, length: 8, scale: -0.5, offset: 10 }),
  ],
});

export const TABLES: HandMap = {
  name: 'tables rising and falling, states, a falling scale, values that mean none, identifier 0',
  map: aMap([galley], { requires: ['table'] }),
  vectors: [
    {
      // stove: raw 50, half of the way from 150 to 60.5: 105.25. tank: bits 3..0 of byte 1 (1) above byte 2 (10): 0x110 = 272;
      //   (272 - 16) / 1024 x 64 = 16. mixer: FC and 04 in the low bits: 4. down: 30 x -0.5 + 10 = -5.
      index: 0,
      payload: '32 01 10 FC 1E',
      values: { stove: 105.25, tank: 16, mixer: 4, down: -5 },
    },
    {
      // stove: raw 201 is outside the table. tank: 0x801 = 2049 means none. mixer: 7 means none.
      index: 0,
      payload: 'C9 08 01 07 00',
      values: { stove: null, tank: null, mixer: null, down: 10 },
    },
    {
      // At the ends: 200 gives -40; 0xFFF gives 96.
      index: 0,
      payload: 'C8 FF FF 01 14',
      values: { stove: -40, tank: 96, mixer: 1, down: 0 },
    },
  ],
};

const rigging = aFrame({
  id: '0x3A0',
  name: 'rigging',
  length: 12,
  fd: true,
  signals: [
    aSignal({
      name: 'strain',
      lsb: { byte: 1, bit: 0 },
      length: 4,
      continues: [
        { lsb: { byte: 3, bit: 4 }, length: 4, order: 'little' },
        { lsb: { byte: 0, bit: 6 }, length: 2, order: 'little' },
      ],
      coding: 'signed',
      offset: 100,
    }),
    aSignal({
      name: 'sheet',
      lsb: { byte: 5, bit: 4 },
      length: 6,
      order: 'big',
      continues: [{ lsb: { byte: 6, bit: 0 }, length: 10, order: 'little' }],
      scale: 0.5,
    }),
    aSignal({
      name: 'wind',
      lsb: { byte: 9, bit: 0 },
      length: 16,
      order: 'big',
      continues: [{ lsb: { byte: 11, bit: 0 }, length: 16, order: 'big' }],
      coding: 'float',
    }),
  ],
});

export const SPLIT: HandMap = {
  name: 'values split over distant bits, of both orders',
  map: aMap([rigging], { requires: ['continues'] }),
  vectors: [
    {
      // strain: lower half of byte 1 (A) lowest, upper half of byte 3 (5) above, bits 7..6 of byte 0 (C0: 11) on top:
      //   11 0101 1010 = 0x35A = 858; 858 - 1024 = -166; + 100 = -66.
      // sheet: upper half of byte 5 (B) lowest, bits 1..0 of byte 4 (01) above: 01 1011 = 27; then byte 6 (2C) and bits 1..0 of
      //   byte 7 (02: 10): 0x22C = 556; 556 x 64 + 27 = 35611; half is 17805.5.
      // wind: bytes 8, 9 (00 00) are the low half, bytes 10, 11 (3F 80) the high one: 0x3F800000 = 1.
      index: 0,
      payload: 'C0 0A 00 50 01 B0 2C 02 00 00 3F 80',
      values: { strain: -66, sheet: 17805.5, wind: 1 },
    },
    {
      // wind: 0xBF000001 = -(1 + 2^-23) / 2.
      index: 0,
      payload: '3F F0 FF 0F FC 0F 00 FC 00 01 BF 00',
      values: { strain: 100, sheet: 0, wind: -(1 + 2 ** -23) / 2 },
    },
  ],
};
