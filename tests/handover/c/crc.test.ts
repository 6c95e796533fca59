import { beforeAll, describe, expect, it } from 'vitest';
import { generateC } from '../../../src/handover/c/source.ts';
import { createRandom } from '../../../src/kit/random.ts';
import { formatPayload } from '../../../src/map/raw-values.ts';
import type { MapChecksum, MapFrame } from '../../../src/map/schema.ts';
import { requireGcc } from '../../support/compile-c.ts';
import { aChecksum, aFrame, aMap } from '../../support/map-parts.ts';
import { randomPayload } from '../../support/random-frames.ts';
import { compiled, holdAgainst, printed } from './held.ts';

beforeAll(requireGcc);

type Row = readonly [width: number, poly: string, init: string, reflected: boolean, xorout: string, check: string];
/**
 * Check values over ASCII "123456789" by the Rocksoft model: R. N. Williams, "A Painless Guide to CRC Error Detection
 * Algorithms", 1993. In order: SAE J1850; AUTOSAR 8H2F; poly 31 reflected; CCITT, start FFFF; KERMIT; X-25; Ethernet. The parameters of
 * KERMIT and X-25, and the last two rows (15 bits, the frame check of classical CAN; 64 bits of ECMA-182 with all ones
 * before and after, reflected), are from memory.
 */
const CHECK_VALUES: readonly Row[] = [
  [8, '0x1D', '0xFF', false, '0xFF', '4B'],
  [8, '0x2F', '0xFF', false, '0xFF', 'DF'],
  [8, '0x31', '0x0', true, '0x0', 'A1'],
  [16, '0x1021', '0xFFFF', false, '0x0', '29B1'],
  [16, '0x1021', '0x0', true, '0x0', '2189'],
  [16, '0x1021', '0xFFFF', true, '0xFFFF', '906E'],
  [32, '0x4C11DB7', '0xFFFFFFFF', true, '0xFFFFFFFF', 'CBF43926'],
  [15, '0x4599', '0x0', false, '0x0', '59E'],
  [64, '0x42F0E1EBA9EA3693', '0xFFFFFFFFFFFFFFFF', true, '0xFFFFFFFFFFFFFFFF', '995DC9BBDF1939FA'],
];

const guarded = ([width, poly, init, reflected, xorout]: Row, name: string): MapFrame =>
  aFrame({
    name,
    length: 20,
    checksums: [
      aChecksum({
        lsb: { byte: 9, bit: 0 },
        length: width,
        width,
        method: 'crc',
        ...{ poly, init, xorout, refin: reflected, refout: reflected },
        covers: [0, 1, 2, 3, 4, 5, 6, 7, 8],
      }),
    ],
  });

describe.each(['bitwise', 'table'] as const)('CRCs, %s', (crc) => {
  it('give the published check values', () => {
    const frames = CHECK_VALUES.map((row, i) => ({ ...guarded(row, `f${i}`), id: `0x${100 + i}` }));
    const code = generateC(aMap(frames), { cautions: [], crc });
    const calls = frames.map(
      (_, i) => `{ sm_f${i} s; sm_f${i}_init(&s); memcpy(s.payload, "123456789", 9u); (void)sm_f${i}_encode(&s, out);
        for (k = 8u, value = 0u; k-- > 0u;) value = (value << 8) | out[9u + k]; printf("%" PRIX64 "\\n", value); }`,
    );
    const text = printed(code, `uint8_t out[20]; unsigned k; uint64_t value; ${calls.join('\n')}`);
    expect(text.split('\n')).toEqual(CHECK_VALUES.map((row) => row[5]));
  });
});

describe('CRCs by table', () => {
  it.each([1, 2])('random rules of 3 to 64 bits, turned one way in and the other out, seed %i', (seed) => {
    const random = createRandom(`crc ${seed}`);
    const hex = (bits: number): string =>
      `0x${((BigInt(random.below(2 ** 31)) * BigInt(random.below(2 ** 31))) & ((1n << BigInt(bits)) - 1n)).toString(16).toUpperCase()}`;
    const frames = Array.from({ length: 24 }, (_, i) => {
      const width = i < 4 ? random.pick([3, 7]) : 8 + random.below(57);
      const rule: Partial<MapChecksum> = {
        ...{
          width,
          poly: `0x${(BigInt(hex(width)) | 1n).toString(16).toUpperCase()}`,
          init: hex(width),
          xorout: hex(width),
        },
        ...{ refin: random.next() < 0.5, refout: random.next() < 0.5 },
        ...(random.next() < 0.2 ? { unit: random.pick(['nibble', 'word16le', 'word16be'] as const) } : {}),
      };
      const rest = { payload: formatPayload(randomPayload(random, 16)), capture: 'c1', fromS: 0, toS: 1 };
      const checksum = aChecksum({
        lsb: { byte: 8, bit: 0 },
        length: width,
        method: 'crc',
        covers: [0, 1, 2, 3, 4, 5, 6, 7],
        ...rule,
      });
      return aFrame({ name: `f${i}`, id: `0x${100 + i}`, length: 16, fd: true, rest, checksums: [checksum] });
    });
    const { written } = holdAgainst(aMap(frames), random, 40, { crc: 'table' });
    expect(written).toBeGreaterThan(500);
  });

  it('rules with the same polynomial, width and bit order share one table, whatever their start and end', () => {
    const [first, second, third] = CHECK_VALUES as [Row, Row, Row];
    const other: Row = [8, '0x1D', '0x0', false, '0x0', ''];
    const frames = [first, other, second, third].map((row, i) => ({ ...guarded(row, `f${i}`), id: `0x${100 + i}` }));
    const code = generateC(aMap(frames), { cautions: [], crc: 'table' });
    expect(code.source.match(/static const uint8_t sm_crc_table_\d+_of\[256\]/g)).toHaveLength(3);
    expect(() => compiled(code, 'int main(void) { return 0; }\n').remove()).not.toThrow();
  });
});
