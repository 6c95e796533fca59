/** Maps made by hand around pages, counters and checksums, with vectors worked out on paper in the comments; no vehicle has these frames. */
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../../support/map-parts.ts';
import type { HandMap } from './hand-map.ts';

const byteAt = (byte: number) => ({ lsb: { byte, bit: 0 }, length: 8 });

const anchor = aFrame({
  id: '0x511',
  name: 'anchor',
  counters: [
    aCounter({ lsb: { byte: 0, bit: 0 }, length: 4, max: 3 }),
    aCounter({ name: 'slow', lsb: { byte: 2, bit: 4 }, length: 4, step: -2, every: 2, min: 1, max: 8 }),
  ],
  checksums: [
    aChecksum({
      ...byteAt(7),
      method: 'sum',
      covers: [0, 1, 2, 3],
      init: '0x10',
      xorout: '0xFF',
      suffix: ['0x05'],
      prefixByCounter: [['0x11'], ['0x22', '0x33'], [], ['0x44']],
      suffixByCounter: [[], ['0x60'], ['0x70', '0x80'], ['0x90']],
    }),
  ],
  signals: [aSignal({ name: 'chain', ...byteAt(1), unit: 'm' })],
});

export const BY_COUNTER: HandMap = {
  name: 'a checksum with tables by counter, a counter that steps back every second frame',
  map: aMap([anchor]),
  vectors: [
    {
      // Counter 1, so the message is 22 33 | 01 32 10 00 | 05 | 60. From 10: 32, 65, 66, 98, A8, A8, AD, 10D; of it 0D; turned over F2.
      // slow: upper half of 10 is 1.
      index: 0,
      payload: '01 32 10 00 00 00 00 F2',
      values: { chain: 50 },
      counters: { alive: 1, slow: 1 },
      holds: [true],
    },
    {
      // Counter 2 has nothing before: 02 00 30 00 | 05 | 70 80. From 10: 12, 12, 42, 42, 47, B7, 137; 37; turned over C8.
      index: 0,
      payload: '02 00 30 00 AA AA AA C8',
      values: { chain: 0 },
      counters: { alive: 2, slow: 3 },
      holds: [true],
    },
    {
      // Counter 9 is beyond the tables: no rule, so it cannot hold.
      index: 0,
      payload: '09 07 10 00 00 00 00 F2',
      values: { chain: 7 },
      counters: { alive: 9, slow: 1 },
      holds: [false],
    },
  ],
};

const hold = aFrame({
  id: '0x622',
  name: 'hold',
  selectors: [
    aSelector({ name: 'bank', lsb: { byte: 0, bit: 0 }, length: 2 }),
    aSelector({ name: 'row', lsb: { byte: 1, bit: 0 }, length: 4, when: { bank: [1, 3] } }),
  ],
  counters: [aCounter({ name: 'beat', lsb: { byte: 0, bit: 4 }, length: 4, when: { bank: [0, 2] }, max: 9 })],
  checksums: [aChecksum({ ...byteAt(7), method: 'xor', covers: [0, 1, 2, 3], init: '0x5A', when: { bank: [2] } })],
  signals: [
    aSignal({ name: 'pumped', lsb: { byte: 6, bit: 0 }, length: 16, order: 'big', when: { bank: [0] } }),
    aSignal({ name: 'stowed', lsb: { byte: 2, bit: 0 }, length: 16, when: { row: [2] } }),
    aSignal({
      name: 'lashed',
      lsb: { byte: 2, bit: 0 },
      length: 8,
      coding: 'signed',
      when: { bank: [1], row: [5, 6] },
    }),
    aSignal({
      name: 'hatch',
      lsb: { byte: 4, bit: 0 },
      length: 2,
      kind: 'states',
      states: { '0': 'shut', '2': 'open' },
    }),
  ],
});

export const NESTED: HandMap = {
  name: 'pages within pages, a counter and a checksum on pages',
  map: aMap([hold], { requires: ['when', 'checksum-when'] }),
  vectors: [
    // Bank 1, row 2: 34 12, lowest byte first: 0x1234 = 4660.
    {
      index: 0,
      payload: '01 02 34 12 02 00 00 00',
      values: { stowed: 4660, hatch: 2 },
      counters: {},
      holds: [],
    },
    // Bank 0: byte 1 has the bits of row 2, but there are no rows in bank 0. Bytes 5 and 6, highest first: 0x3412 = 13330. Beat 7.
    {
      index: 0,
      payload: '70 02 34 12 00 34 12 00',
      values: { pumped: 13330, hatch: 0 },
      counters: { beat: 7 },
      holds: [],
    },
    // Bank 3 has rows too; "lashed" wants bank 1 and row 5 or 6, and there FF is -1.
    { index: 0, payload: '03 02 01 00 00 00 00 00', values: { stowed: 1, hatch: 0 }, counters: {}, holds: [] },
    { index: 0, payload: '03 05 FF 00 00 00 00 00', values: { hatch: 0 }, counters: {}, holds: [] },
    { index: 0, payload: '01 06 FF 00 00 00 00 00', values: { lashed: -1, hatch: 0 }, counters: {}, holds: [] },
    // Bank 2 is guarded: 5A ^ 92 = C8, ^ 01 = C9, ^ 02 = CB, ^ 03 = C8. Beat 9.
    {
      index: 0,
      payload: '92 01 02 03 00 00 00 C8',
      values: { hatch: 0 },
      counters: { beat: 9 },
      holds: [true],
    },
    { index: 0, payload: '92 01 02 03 00 00 00 C9', values: { hatch: 0 }, counters: { beat: 9 }, holds: [false] },
  ],
};

const gauge = aFrame({
  id: '0x7FF',
  name: 'gauge',
  length: 12,
  fd: true,
  counters: [aCounter({ name: 'toggle', lsb: { byte: 9, bit: 0 }, length: 1 })],
  checksums: [
    aChecksum({ ...byteAt(8), method: 'sum', covers: [4, 5, 6, 7] }),
    aChecksum({ lsb: { byte: 4, bit: 0 }, length: 4, method: 'xor', unit: 'nibble', covers: [0, 1], init: '0x9' }),
    aChecksum({
      lsb: { byte: 6, bit: 0 },
      length: 16,
      order: 'big',
      method: 'sum',
      unit: 'word16be',
      carry: 'end-around',
      covers: [0, 1, 2, 3],
      init: '0xFFFF',
      xorout: '0xFFFF',
    }),
    aChecksum({
      ...byteAt(7),
      method: 'copy',
      covers: [
        { byte: 0, mask: '0xF0' },
        { byte: 3, mask: '0x0F' },
      ],
      xorout: '0xFF',
    }),
  ],
  signals: [aSignal({ name: 'level', lsb: { byte: 0, bit: 0 }, length: 32 })],
});

/** The sum's own bits are in two pieces and stand in bytes that it covers. */
const buoy = aFrame({
  id: '0x8',
  extended: true,
  name: 'buoy',
  counters: [
    aCounter({
      lsb: { byte: 2, bit: 0 },
      length: 2,
      continues: [{ lsb: { byte: 2, bit: 6 }, length: 2, order: 'little' }],
    }),
  ],
  checksums: [
    aChecksum({
      lsb: { byte: 2, bit: 2 },
      length: 4,
      continues: [{ lsb: { byte: 1, bit: 4 }, length: 4, order: 'little' }],
      method: 'xor',
      covers: [0, 1, 3, 4, 5, 6, 7],
    }),
  ],
  signals: [aSignal({ name: 'drift', lsb: { byte: 1, bit: 0 }, length: 4 })],
});

export const RULES: HandMap = {
  name: 'checksums of halves of bytes, of words, of copied bits, one under another, one split',
  map: aMap([gauge, buoy], { requires: ['continues'] }),
  vectors: [
    {
      // Halves of 12 34: 1, 2, 3, 4: from 9: 8, A, 9, D. Words 1234 and 5678: FFFF + 1234 + 5678 = 168AB, the carry at the bottom
      // 68AC, turned over 9753. Copied: 1 and 8 = 18, turned over E7. Over them: 0D + 97 + 53 + E7 = 1DE, of it DE.
      // level: 78 56 34 12 read from the lowest byte: 0x78563412 = 2018915346.
      index: 0,
      payload: '12 34 56 78 0D 97 53 E7 DE 01 00 00',
      values: { level: 2018915346 },
      counters: { toggle: 1 },
      holds: [true, true, true, true],
    },
    {
      // As before with one bit of the word sum wrong: it and nothing else fails but the sum over it.
      index: 0,
      payload: '12 34 56 78 0D 97 52 E7 DE 01 00 00',
      values: { level: 2018915346 },
      counters: { toggle: 1 },
      holds: [false, true, false, true],
    },
    {
      // C0 ^ 0A = CA, ^ 50 = 9A, ^ 01 = 9B, ^ B0 = 2B, ^ 2C = 07, ^ 02 = 05, its own bits in byte 1 as zero: 0 goes to byte 1's upper half, 5 to bits 5..2 of byte 2.
      // Counter 9 = 10 01: 01 to bits 1..0, 10 to bits 7..6: byte 2 = 10 0101 01 = 95.
      index: 1,
      payload: 'C0 0A 95 50 01 B0 2C 02',
      values: { drift: 10 },
      counters: { alive: 9 },
      holds: [true],
    },
  ],
};

const digits = [0, 1, 2, 3, 4, 5, 6, 7, 8];
const log = aFrame({
  id: '0x1234567',
  extended: true,
  name: 'tide_log',
  length: 32,
  fd: true,
  checksums: [
    aChecksum({
      lsb: { byte: 9, bit: 0 },
      length: 32,
      method: 'crc',
      poly: '0x4C11DB7',
      init: '0xFFFFFFFF',
      refin: true,
      refout: true,
      xorout: '0xFFFFFFFF',
      covers: digits,
    }),
    aChecksum({
      lsb: { byte: 14, bit: 0 },
      length: 16,
      order: 'big',
      method: 'crc',
      poly: '0x1021',
      init: '0xFFFF',
      covers: digits,
    }),
    aChecksum({ ...byteAt(15), method: 'crc', poly: '0x07', covers: digits }),
    aChecksum({
      lsb: { byte: 16, bit: 0 },
      length: 64,
      method: 'crc',
      poly: '0x42F0E1EBA9EA3693',
      covers: digits,
    }),
    aChecksum({ lsb: { byte: 24, bit: 0 }, length: 15, method: 'crc', poly: '0x4599', covers: digits }),
  ],
  signals: [aSignal({ name: 'digits', lsb: { byte: 0, bit: 0 }, length: 72, coding: 'text', kind: 'text' })],
});

export const PUBLISHED: HandMap = {
  name: 'CRCs of 8, 15, 16, 32 and 64 bits at their published check values',
  map: aMap([log]),
  vectors: [
    {
      // The check value of a CRC is that of the nine digits (Williams 1993, "A Painless Guide to CRC Error Detection Algorithms", section 15).
      // From memory of the published lists: CRC-32 of IEEE 802.3 CBF43926; polynomial 1021 from FFFF 29B1; polynomial 07 F4;
      // ECMA-182 6C40DF5F0B497347; the 15 bits of CAN itself (ISO 11898-1, polynomial 4599) 059E.
      index: 0,
      payload: [
        '31 32 33 34 35 36 37 38 39 26 39 F4 CB 29 B1 F4',
        '47 73 49 0B 5F DF 40 6C 9E 05 00 00 00 00 00 00',
      ].join(' '),
      values: { digits: '123456789' },
      counters: {},
      holds: [true, true, true, true, true],
    },
  ],
};

const wide = aFrame({
  id: '0x44',
  name: 'wide_sum',
  length: 12,
  fd: true,
  checksums: [
    aChecksum({
      lsb: { byte: 4, bit: 0 },
      length: 64,
      method: 'sum',
      carry: 'end-around',
      init: '0xFFFFFFFFFFFFFFFF',
      covers: [0, 1, 2, 3],
    }),
  ],
  signals: [aSignal({ name: 'swell', lsb: { byte: 0, bit: 0 }, length: 16 })],
});

export const WIDE: HandMap = {
  name: 'a sum of 64 bits whose carry goes round',
  map: aMap([wide]),
  vectors: [
    // 2^64 - 1 + 1 + 2 + 3 + 4 = 2^64 + 9; the carry at the bottom: 10.
    { index: 0, payload: '01 02 03 04 0A 00 00 00 00 00 00 00', values: { swell: 513 }, counters: {}, holds: [true] },
  ],
};
