import * as library from 'crc';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { compileChecksum } from '../../src/map/checksum.ts';
import { encodeFrame } from '../../src/map/encode.ts';
import { compileEncoder } from '../../src/map/encode.ts';
import type { MapChecksum, MapFrame } from '../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame } from '../support/map-parts.ts';

/** A CRC over a whole message, asked of the map's own evaluator: the message is the payload, the check lies behind it. */
function crcOf(message: Uint8Array, rule: Partial<MapChecksum> & { width: number }): bigint {
  const bytes = Math.ceil(rule.width / 8);
  const payload = new Uint8Array(message.length + bytes);
  payload.set(message);
  const checksum = aChecksum({
    lsb: { byte: message.length, bit: 0 },
    length: rule.width,
    covers: [...message.keys()],
    ...rule,
    method: 'crc',
  });
  const compute = compileChecksum(checksum, aFrame());
  if (!compute) throw new Error('the rule cannot be computed');
  return BigInt(compute(payload, 0, payload.length));
}

const hex = (text: string): Uint8Array => Uint8Array.from(text.match(/../g) ?? [], (byte) => Number.parseInt(byte, 16));
const CHECK_INPUT = new TextEncoder().encode('123456789');

type Row = readonly [
  name: string,
  width: number,
  poly: string,
  init: string,
  reflected: boolean,
  xorout: string,
  check: string,
];
/**
 * Check values over ASCII "123456789" by the Rocksoft model: R. N. Williams, "A Painless Guide to CRC Error Detection
 * Algorithms", 1993. Values named SAE J1850, AUTOSAR, CCITT, X-25, ARC, MODBUS, Ethernet are those standards' published
 * parameters; the start and final values of GENIBUS, KERMIT and X-25 are from memory of their descriptions.
 */
const CHECK_VALUES: readonly Row[] = [
  ['SAE J1850', 8, '0x1D', '0xFF', false, '0xFF', '4B'],
  ['J1850, zero start', 8, '0x1D', '0x0', false, '0x0', '37'],
  ['AUTOSAR 8H2F', 8, '0x2F', '0xFF', false, '0xFF', 'DF'],
  ['poly 2F, zero start', 8, '0x2F', '0x0', false, '0x0', '3E'],
  ['poly 07, zero start', 8, '0x7', '0x0', false, '0x0', 'F4'],
  ['poly 07, xorout 55', 8, '0x7', '0x0', false, '0x55', 'A1'],
  ['poly 31 reflected', 8, '0x31', '0x0', true, '0x0', 'A1'],
  ['poly D5', 8, '0xD5', '0x0', false, '0x0', 'BC'],
  ['poly 9B, start FF', 8, '0x9B', '0xFF', false, '0x0', 'DA'],
  ['CCITT, start FFFF', 16, '0x1021', '0xFFFF', false, '0x0', '29B1'],
  ['XMODEM', 16, '0x1021', '0x0', false, '0x0', '31C3'],
  ['GENIBUS', 16, '0x1021', '0xFFFF', false, '0xFFFF', 'D64E'],
  ['KERMIT', 16, '0x1021', '0x0', true, '0x0', '2189'],
  ['X-25', 16, '0x1021', '0xFFFF', true, '0xFFFF', '906E'],
  ['ARC', 16, '0x8005', '0x0', true, '0x0', 'BB3D'],
  ['MODBUS', 16, '0x8005', '0xFFFF', true, '0x0', '4B37'],
  ['Ethernet', 32, '0x4C11DB7', '0xFFFFFFFF', true, '0xFFFFFFFF', 'CBF43926'],
  ['AUTOSAR 32 P4', 32, '0xF4ACFB13', '0xFFFFFFFF', true, '0xFFFFFFFF', '1697D06A'],
  // ISO 11898-1, the CRC sequence of a classical frame: polynomial C599 with its top bit, 4599 without.
  ['CAN frame CRC-15', 15, '0x4599', '0x0', false, '0x0', '059E'],
];

describe('published check values', () => {
  it.each(CHECK_VALUES)('%s', (_name, width, poly, init, reflected, xorout, check) => {
    const value = crcOf(CHECK_INPUT, { width, poly, init, refin: reflected, refout: reflected, xorout });
    expect(value).toBe(BigInt(`0x${check}`));
  });
});

/** The messages of the examples in the AUTOSAR specification of CRC routines (SWS_Crc). */
const AUTOSAR_MESSAGES = ['00000000', 'F20183', '0FAA0055', '00FF5511', '332255AABBCCDDEEFF', '926B55', 'FFFFFFFF'];
type Vector = readonly [string, Partial<MapChecksum> & { width: number }, string];
const VECTORS: readonly Vector[] = [
  // Source: AUTOSAR SWS_Crc, 8-bit 0x2F.
  ['2F', { width: 8, poly: '0x2F', init: '0xFF', xorout: '0xFF' }, '12 C2 C6 77 11 33 6C'],
  // Computed from the published rule by an independent script.
  ['1D', { width: 8, poly: '0x1D', init: '0xFF', xorout: '0xFF' }, '59 37 79 B8 CB 8C 74'],
  ['1021', { width: 16, poly: '0x1021', init: '0xFFFF' }, '84C0 D374 2023 B8F9 F53F 0745 1D0F'],
  [
    'P4',
    { width: 32, poly: '0xF4ACFB13', init: '0xFFFFFFFF', xorout: '0xFFFFFFFF', refin: true, refout: true },
    '6FB32240 4F721A25 20662DF8 9BD7996E A65A343D EE688A78 FFFFFFFF',
  ],
];

describe('AUTOSAR CRC vectors', () => {
  it.each(VECTORS)('%s', (_name, rule, values) => {
    const digits = rule.width / 4;
    const computed = AUTOSAR_MESSAGES.map((message) =>
      crcOf(hex(message), rule).toString(16).toUpperCase().padStart(digits, '0'),
    );
    expect(computed.join(' ')).toBe(values);
  });
});

function built(frame: MapFrame, payload: string, counter: number): string {
  const base = hex(payload.replaceAll(' ', ''));
  const outcome = encodeFrame(frame, {}, { base, counters: { alive: counter } });
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return [...outcome.value].map((byte) => byte.toString(16).toUpperCase().padStart(2, '0')).join(' ');
}

const ZEROS = '00 00 00 00 00 00 00 00';

/**
 * AUTOSAR PRS E2E Protocol, profile 1: CRC 1D in byte 0, counter 0..14 in the low nibble of byte 1. The profile's start
 * and final values of FF cancel against those of the library call it prescribes, which leaves 00 and 00.
 */
function profile1(part: Partial<MapChecksum>, covers: MapChecksum['covers'] = [1, 2, 3, 4, 5, 6, 7]): MapFrame {
  const checksum = aChecksum({
    lsb: { byte: 0, bit: 0 },
    length: 8,
    method: 'crc',
    width: 8,
    poly: '0x1D',
    init: '0x0',
    xorout: '0x0',
    covers,
    ...part,
  });
  return aFrame({ counters: [aCounter({ lsb: { byte: 1, bit: 0 }, length: 4, max: 14 })], checksums: [checksum] });
}

describe('AUTOSAR end-to-end protection as the map expresses it (PRS E2E protocol; identifier 0x123)', () => {
  const alternating = Array.from({ length: 15 }, (_, counter) => [counter % 2 === 0 ? '0x23' : '0x1']);
  it.each([
    ['both identifier bytes', profile1({ prefix: ['0x23', '0x1'] }), 'CC 00', '91 01'],
    ['alternating by the counter', profile1({ prefixByCounter: alternating }), 'CE 00', '02 01'],
    ['the low byte only', profile1({ prefix: ['0x23'] }), 'CE 00', '93 01'],
  ] as const)('profile 1, %s', (_title, frame, first, second) => {
    expect(built(frame, ZEROS, 0)).toBe(first + ZEROS.slice(5));
    expect(built(frame, ZEROS, 1)).toBe(second + ZEROS.slice(5));
  });

  it('profile 1, low byte then zero, with the high nibble sent openly', () => {
    const frame = profile1({ prefix: ['0x23', '0x0'] });
    const open = '00 10' + ZEROS.slice(5);
    expect(built(frame, open, 0)).toBe('2A 10' + ZEROS.slice(5));
    expect(built(frame, open, 1)).toBe('77 11' + ZEROS.slice(5));
  });

  it('profile 1 with plain FF and FF gives another value: the trap', () => {
    expect(built(profile1({ prefix: ['0x23', '0x1'], init: '0xFF', xorout: '0xFF' }), ZEROS, 0).slice(0, 2)).toBe('B0');
  });

  it('profile 2: the list is picked by the counter', () => {
    const list = Array.from({ length: 16 }, (_, i) => ['0x' + i.toString(16).toUpperCase()]);
    const checksum = aChecksum({
      lsb: { byte: 0, bit: 0 },
      length: 8,
      method: 'crc',
      width: 8,
      poly: '0x2F',
      init: '0xFF',
      xorout: '0xFF',
      covers: [1, 2, 3, 4, 5, 6, 7],
      suffixByCounter: list,
    });
    const frame = aFrame({ counters: [aCounter({ lsb: { byte: 1, bit: 0 }, length: 4 })], checksums: [checksum] });
    const data = '00 01 02 03 04 05 06 07';
    expect(built(frame, data, 2)).toBe('BC 02 02 03 04 05 06 07');
    expect(built(frame, data, 1)).toBe('61 01 02 03 04 05 06 07');
  });

  function profile5(length: number, header: number): MapFrame {
    const checksum = aChecksum({
      lsb: { byte: header, bit: 0 },
      length: 16,
      method: 'crc',
      width: 16,
      poly: '0x1021',
      init: '0xFFFF',
      xorout: '0x0',
      covers: [...Array(length).keys()].filter((byte) => byte !== header && byte !== header + 1),
      suffix: ['0x34', '0x12'],
    });
    const counter = aCounter({ lsb: { byte: header + 2, bit: 0 }, length: 8 });
    return aFrame({ length, counters: [counter], checksums: [checksum] });
  }

  it('profile 5, identifier 0x1234 (tables of release R20-11)', () => {
    expect(built(profile5(8, 0), ZEROS, 0)).toBe('1C CA 00' + ZEROS.slice(8));
    expect(built(profile5(8, 0), ZEROS, 1)).toBe('CF 8D 01' + ZEROS.slice(8));
    const sixteen = `${ZEROS} ${ZEROS}`;
    expect(built(profile5(16, 8), sixteen, 0).slice(24, 32)).toBe('28 91 00');
    expect(built(profile5(16, 8), sixteen, 1).slice(24, 32)).toBe('FB D6 01');
  });
});

describe('a public example of an unknown 16-bit check', () => {
  // A question on a public question-and-answer site, its answer checked by computation: 1021, FFFF, reflected, FFFF.
  it.each(['EE 00 00 00 00 01 20 13 10', 'EE 00 00 00 00 03 20 A3 23'])('%s', (text) => {
    const bytes = hex(text.replaceAll(' ', ''));
    const checksum = aChecksum({
      lsb: { byte: 7, bit: 0 },
      length: 16,
      method: 'crc',
      width: 16,
      poly: '0x1021',
      init: '0xFFFF',
      xorout: '0xFFFF',
      refin: true,
      refout: true,
      covers: [0, 1, 2, 3, 4, 5, 6],
    });
    const { compiled } = compileEncoder(aFrame({ length: 9, checksums: [checksum] }));
    expect(compiled.decode(bytes).checksums[0]).toMatchObject({ holds: true });
  });
});

describe('agreement with a general-purpose library (npm package crc)', () => {
  // Its 8-bit J1850 takes 00 for the start value where the standard says FF, so that one is left out.
  const pairs: readonly (readonly [string, (typeof library)['crc8'], Partial<MapChecksum> & { width: number }])[] = [
    ['crc8', library.crc8, { width: 8, poly: '0x7' }],
    ['crc81wire', library.crc81wire, { width: 8, poly: '0x31', refin: true, refout: true }],
    ['crc16', library.crc16, { width: 16, poly: '0x8005', refin: true, refout: true }],
    ['crc16modbus', library.crc16modbus, { width: 16, poly: '0x8005', init: '0xFFFF', refin: true, refout: true }],
    ['crc16ccitt', library.crc16ccitt, { width: 16, poly: '0x1021', init: '0xFFFF' }],
    ['crc16xmodem', library.crc16xmodem, { width: 16, poly: '0x1021' }],
    ['crc16kermit', library.crc16kermit, { width: 16, poly: '0x1021', refin: true, refout: true }],
    ['crc24', library.crc24, { width: 24, poly: '0x864CFB', init: '0xB704CE' }],
    [
      'crc32',
      library.crc32,
      { width: 32, poly: '0x4C11DB7', init: '0xFFFFFFFF', xorout: '0xFFFFFFFF', refin: true, refout: true },
    ],
  ];
  it.each(pairs)('%s', (_name, reference, rule) => {
    const random = createRandom('library');
    for (let i = 0; i < 50; i++) {
      const message = Uint8Array.from({ length: 1 + random.below(56) }, () => random.below(256));
      expect(crcOf(message, rule)).toBe(BigInt(reference(message.buffer)));
    }
  });
});
