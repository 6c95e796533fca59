import fc from 'fast-check';
import { describe, expect, it } from 'vitest';
import type { Stream } from '../../src/frames/table.ts';
import { createRandom } from '../../src/kit/random.ts';
import { checksumOrder } from '../../src/map/checksum-order.ts';
import { compileChecksum, verifyChecksum } from '../../src/map/checksum.ts';
import { encodeFrame } from '../../src/map/encode.ts';
import type { MapChecksum } from '../../src/map/schema.ts';
import { aChecksum, aCounter, aFrame, aSelector, aSignal } from '../support/map-parts.ts';
import { slowCrc } from '../support/slow-codec.ts';

const last = { lsb: { byte: 7, bit: 0 }, length: 8 };
const firstSeven = [0, 1, 2, 3, 4, 5, 6];
const PAYLOAD = Uint8Array.of(0x10, 0x20, 0x30, 0x40, 0x50, 0x60, 0x70, 0xaa);

function valueOf(checksum: MapChecksum, payload = PAYLOAD, frame = aFrame({ counters: [] })): number | bigint {
  const compute = compileChecksum(checksum, frame);
  if (!compute) throw new Error('the rule cannot be computed');
  return compute(payload, 0, payload.length);
}

function streamOf(rows: readonly (readonly number[])[], lengths: Uint8Array | null = null): Stream {
  const stride = Math.max(...rows.map((row) => row.length));
  const payload = new Uint8Array(rows.length * stride);
  rows.forEach((row, i) => payload.set(row, i * stride));
  return {
    bus: 'can0',
    id: 0x123,
    extended: false,
    direction: 'received',
    index: 0,
    count: rows.length,
    timeUs: Float64Array.from(rows, (_, i) => i * 10_000),
    arrival: Uint32Array.from(rows, (_, i) => i),
    stride,
    payload,
    length: stride,
    lengths,
    fdFlags: null,
  };
}

// By hand: 10+20+30+40+50+60+70 = 1C0; the XOR of the same bytes is 00 ^ ... = 10^20^30^40^50^60^70 = 00.
describe('sums, exclusive or and copies, by values worked out by hand', () => {
  it.each([
    ['a byte sum', { method: 'sum', covers: firstSeven }, 0xc0],
    ['its complement', { method: 'sum', covers: firstSeven, xorout: '0xFF' }, 0x3f],
    ['a sum from a start value', { method: 'sum', covers: firstSeven, init: '0x45' }, 0x05],
    ['a sum with the carry brought round', { method: 'sum', covers: firstSeven, carry: 'end-around' }, 0xc1],
    ['a sum of nibbles', { method: 'sum', covers: firstSeven, unit: 'nibble' }, 0x1c],
    [
      'a sum with identifier bytes before and after',
      { method: 'sum', covers: [0], prefix: ['0x01'], suffix: ['0x23'] },
      0x34,
    ],
    ['an exclusive or', { method: 'xor', covers: [0, 1, 2] }, 0x00],
    [
      'an exclusive or with start and final value',
      { method: 'xor', covers: [0, 3], init: '0x0F', xorout: '0xF0' },
      0xaf,
    ],
    [
      'masked bytes',
      {
        method: 'sum',
        covers: [
          { byte: 6, mask: '0x30' },
          { byte: 5, mask: 0x20 },
        ],
      },
      0x50,
    ],
    ['a complemented copy', { method: 'copy', covers: [3], xorout: '0xFF' }, 0xbf],
    [
      'a copy of two half bytes, the first more significant',
      {
        method: 'copy',
        covers: [
          { byte: 2, mask: '0xF0' },
          { byte: 1, mask: '0xF0' },
        ],
      },
      0x32,
    ],
    ['a 4-bit sum over bytes', { method: 'sum', covers: [0, 1, 2], init: '0xA', width: 4, length: 4 }, 0x0a],
  ] as const)('%s', (_title, part, expected) => {
    const rule = aChecksum({ ...last, ...(part as unknown as Partial<MapChecksum>), method: part.method });
    expect(valueOf(rule)).toBe(expected);
  });

  it.each([
    ['word16be', 0x1020 + 0x3040 + 0x5060],
    ['word16le', 0x2010 + 0x4030 + 0x6050],
  ] as const)('16-bit words %s, the odd last byte paired with zero', (unit, sum) => {
    const rule = aChecksum({
      lsb: { byte: 7, bit: 0 },
      length: 16,
      order: 'big',
      method: 'sum',
      unit,
      covers: [0, 1, 2, 3, 4, 5],
    });
    expect(valueOf(rule)).toBe(sum & 0xffff);
    const odd = { ...rule, covers: [0, 1, 2] };
    expect(valueOf(odd)).toBe(unit === 'word16be' ? 0x1020 + 0x3000 : 0x2010 + 0x0030);
  });

  it('covers its own byte with its own bits zero', () => {
    const rule = aChecksum({ lsb: { byte: 7, bit: 4 }, length: 4, method: 'sum', unit: 'nibble', covers: [7] });
    expect(valueOf(rule, Uint8Array.of(0, 0, 0, 0, 0, 0, 0, 0xf3))).toBe(3);
  });

  it('gives nothing for keyed and unsolved rules', () => {
    expect(compileChecksum(aChecksum({ ...last, method: 'mac' }), aFrame())).toBeNull();
    expect(compileChecksum(aChecksum({ ...last, method: 'unsolved' }), aFrame())).toBeNull();
  });

  it('picks from tables by the first counter, and gives nothing beyond them', () => {
    const frame = aFrame({ counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4 })] });
    const rule = aChecksum({ ...last, method: 'xor', covers: [6], suffixByCounter: [['0x11'], ['0x22'], ['0x44']] });
    expect(valueOf(rule, Uint8Array.of(0, 0, 0, 0, 0, 0, 2, 0), frame)).toBe(2 ^ 0x44);
    expect(valueOf(rule, Uint8Array.of(0, 0, 0, 0, 0, 0, 3, 0), frame)).toBeNaN();
    expect(compileChecksum(rule, aFrame())).toBeNull();
  });
});

describe('the fast evaluation against long division on strings', () => {
  const widths = fc.integer({ min: 1, max: 64 });
  it('agrees for CRCs of every width, with prefix, suffix and tables', () => {
    fc.assert(
      fc.property(fc.integer(), widths, (seed, width) => {
        const random = createRandom(seed);
        const big = (bits: number): bigint =>
          BigInt.asUintN(bits, (BigInt(random.below(2 ** 32)) << 32n) | BigInt(random.below(2 ** 32)));
        const hex = (value: bigint): string => '0x' + value.toString(16).toUpperCase();
        const parameters = {
          width,
          poly: big(width) | 1n,
          init: big(width),
          xorout: big(width),
          refin: random.next() < 0.5,
          refout: random.next() < 0.5,
        };
        const { poly, init, xorout } = parameters;
        const list = Array.from({ length: 16 }, () => [hex(big(8)), hex(big(8))]);
        const rule = aChecksum({
          lsb: { byte: 8, bit: 0 },
          length: width,
          method: 'crc',
          ...parameters,
          poly: hex(poly),
          init: hex(init),
          xorout: hex(xorout),
          covers: [0, 1, 2, 3, 4, 5, 6, 7],
          prefix: [hex(big(8))],
          suffix: [hex(big(8))],
          prefixByCounter: list,
          suffixByCounter: list.toReversed(),
        });
        const payload = Uint8Array.from({ length: 16 }, () => random.below(256));
        const counter = (payload[7] as number) & 15;
        const bytes = (texts: readonly string[] | undefined): number[] => (texts ?? []).map(Number);
        const message = [
          ...bytes(rule.prefix),
          ...bytes(list[counter]),
          ...payload.subarray(0, 8),
          ...bytes(rule.suffix),
          ...bytes(list.toReversed()[counter]),
        ];
        const frame = aFrame({ length: 16, counters: [aCounter({ lsb: { byte: 7, bit: 0 }, length: 4 })] });
        expect(BigInt(valueOf(rule, payload, frame))).toBe(slowCrc(message, parameters));
      }),
      { numRuns: 400 },
    );
  });
});

describe('verification over a stream', () => {
  const rule = aChecksum({ ...last, method: 'sum', covers: firstSeven });
  it('counts what passed, what failed and what could not be checked', () => {
    const good = [1, 2, 3, 0, 0, 0, 0, 6];
    const bad = [1, 2, 3, 0, 0, 0, 0, 7];
    const stream = streamOf([good, bad, good, good], Uint8Array.of(8, 8, 8, 5));
    expect(verifyChecksum(rule, aFrame(), stream)).toEqual({
      checked: 3,
      passed: 2,
      unchecked: 1,
      otherPage: 0,
      failures: [1],
    });
  });

  it('leaves frames of other pages out', () => {
    const frame = aFrame({ selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 8 })] });
    const stream = streamOf([
      [1, 0, 0, 0, 0, 0, 0, 1],
      [2, 0, 0, 0, 0, 0, 0, 0],
    ]);
    expect(verifyChecksum({ ...rule, when: { page: [1] } }, frame, stream)).toMatchObject({
      checked: 1,
      passed: 1,
      otherPage: 1,
    });
  });

  it('compares 64-bit values', () => {
    const wide = aChecksum({
      lsb: { byte: 0, bit: 0 },
      length: 64,
      method: 'crc',
      width: 64,
      poly: '0x1B',
      covers: [8],
    });
    expect(verifyChecksum(wide, aFrame({ length: 12 }), streamOf([[...new Array<number>(12).fill(0)]]))?.passed).toBe(
      1,
    );
  });
});

describe('several checksums in one frame', () => {
  const inner = aChecksum({ lsb: { byte: 3, bit: 0 }, length: 8, method: 'xor', covers: [0, 1, 2] });
  const outer = aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'sum', covers: [0, 1, 2, 3, 4, 5, 6] });

  it('computes the inner one first, wherever it stands in the list', () => {
    expect(checksumOrder([outer, inner])).toEqual([1, 0]);
    const frame = aFrame({
      checksums: [outer, inner],
      signals: [aSignal({ name: 'x', lsb: { byte: 0, bit: 0 }, length: 8 })],
    });
    const outcome = encodeFrame(frame, { x: 5 });
    expect(outcome.ok && [...outcome.value]).toEqual([5, 0, 0, 5, 0, 0, 0, 10]);
  });

  it('says so when they cover each other', () => {
    const circle = { ...inner, covers: [0, 7] };
    expect(checksumOrder([outer, circle])).toBeNull();
    const outcome = encodeFrame(aFrame({ checksums: [outer, circle] }), {});
    expect(outcome.ok ? '' : outcome.problems[0].code).toBe('checksum-circle');
  });

  it('refuses to build a frame with a keyed tag, and warns about bits whose part is not known', () => {
    const mac = aFrame({ checksums: [aChecksum({ ...last, method: 'mac' })] });
    const refused = encodeFrame(mac, {});
    expect(refused.ok ? '' : refused.problems[0].code).toBe('cannot-produce-checksum');
    const unsure = { ...outer, undetermined: [{ byte: 0, bit: 7 }] };
    const frame = aFrame({
      checksums: [unsure],
      signals: [aSignal({ name: 'x', lsb: { byte: 0, bit: 0 }, length: 8 })],
    });
    const warned = encodeFrame(frame, { x: 128 });
    expect(warned.ok && warned.warnings.map(({ code }) => code)).toEqual(['undetermined-bits']);
    const quiet = encodeFrame(frame, { x: 127 });
    expect(quiet.ok && quiet.warnings).toEqual([]);
  });
});
