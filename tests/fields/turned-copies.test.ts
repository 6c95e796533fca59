/** Values that stand in a frame once more with every bit turned over: of any length and place, beside a tag or without one. */
import { describe, expect, it } from 'vitest';
import { bitPositions, writeRaw, type Placement } from '../../src/frames/bits.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { divide } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream, physicalWalk } from './support/streams.ts';

const COUNT = 500;
const CRC = { width: 8, poly: 0x2f, init: 0xff, reflected: false, xorout: 0 };

interface Twice {
  readonly value: Placement;
  readonly copy: Placement;
}

/** A value and another, which shows it turned over but for `off` of its bits; a second value in byte 5 and, where wanted, a CRC over all in byte 7. */
function streamOf({ value, copy }: Twice, off: number, isGuarded: boolean): ReturnType<typeof makeStream> {
  const random = createRandom('twice');
  const ones = 2 ** value.length - 1;
  const [own, other] = [physicalWalk(random, COUNT, 0, ones), physicalWalk(random, COUNT, 0, 255)];
  const payload = new Uint8Array(COUNT * 8);
  for (let row = 0; row < COUNT; row++) {
    const at = payload.subarray(row * 8, row * 8 + 8);
    writeRaw(value, own[row] as number, at, 0);
    writeRaw(copy, (ones ^ (own[row] as number)) & ~((1 << off) - 1), at, 0);
    at[5] = other[row] as number;
    if (isGuarded) at[7] = divide(CRC, [...at.subarray(0, 7)]);
  }
  return makeStream(payload, 8);
}

const place = (byte: number, bit: number, length: number, order: 'little' | 'big'): Placement => ({
  lsb: { byte, bit },
  length,
  order,
});

const CASES: readonly (readonly [string, Twice])[] = [
  ['eleven bits', { value: place(0, 0, 11, 'little'), copy: place(2, 3, 11, 'little') }],
  ['twelve bits, high byte first', { value: place(1, 4, 12, 'big'), copy: place(3, 2, 12, 'big') }],
  ['seven bits of one byte', { value: place(0, 1, 7, 'little'), copy: place(3, 0, 7, 'little') }],
];

describe('a value that is sent once more with every bit turned over', () => {
  it.each(CASES)('is told within what a CRC guards: %s', (_, twice) => {
    const { checksums, fields } = findFieldsOfStream(streamOf(twice, 0, true), {});
    expect(checksums.map(({ method }) => method).sort()).toEqual(['copy', 'crc']);
    const copy = checksums.find(({ method }) => method === 'copy') as Placement;
    expect(bitPositions(copy)).toEqual(bitPositions(twice.copy));
    const held = new Set(bitPositions(twice.copy));
    expect(fields.filter((each) => bitPositions(each as Placement).some((at) => held.has(at)))).toEqual([]);
  });

  it.each(CASES)('and where nothing guards the frame: %s', (_, twice) => {
    const { checksums } = findFieldsOfStream(streamOf(twice, 0, false), {});
    expect(checksums.map((each) => [each.method, bitPositions(each as Placement)])).toEqual([
      ['copy', bitPositions(twice.copy)],
    ]);
  });

  it('is no copy where bits of it are not turned over but lacking', () => {
    const { checksums } = findFieldsOfStream(streamOf((CASES[2] as (typeof CASES)[number])[1], 3, true), {});
    expect(checksums.map(({ method }) => method)).toEqual(['crc']);
  });

  it('of a byte is left to the tag in front of the counter, though two of its bits stand still', () => {
    const random = createRandom('in front');
    const level = physicalWalk(random, COUNT, 0, 60);
    const payload = new Uint8Array(COUNT * 6);
    for (let row = 0; row < COUNT; row++)
      payload.set(
        [0xff ^ (level[row] as number), (row % 16) << 4, random.below(9), 3, random.below(90), level[row]!],
        row * 6,
      );
    const { checksums } = findFieldsOfStream(makeStream(payload, 6), {});
    expect(checksums.map(({ method, lsb }) => `${method} ${lsb.byte}`)).toEqual(['copy 0']);
  });
});
