/** Counters that do not come round within a capture, and sums of two bytes, which never carry out. Payloads and tags are made by code apart from the project's own. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { mixBeyondFamilies } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream } from './support/streams.ts';

const COUNT = 600;
const START = 0xde40;

type Tag = (message: readonly number[]) => number | null;

/** Bytes 0 to 3 hold a level and states, 4 and 5 what counts, low byte first, 6 a tag over them or zero. */
function streamOf(tagOf: Tag, countOf: (row: number) => number = (row) => START + row): ReturnType<typeof makeStream> {
  const random = createRandom('two bytes');
  const payload = new Uint8Array(COUNT * 7);
  let level = 20_000;
  for (let row = 0; row < COUNT; row++) {
    level += random.below(600) - 300;
    const counted = countOf(row);
    const message = [level >> 8, level & 0xff, random.below(9) === 0 ? 2 : 0, 0x18, counted & 0xff, counted >> 8];
    payload.set([...message, tagOf(message) ?? 0], row * 7);
  }
  return makeStream(payload, 7);
}

const sum: Tag = (message) => message.reduce((all, byte) => (all + byte) & 0xff, 0);
const table: Tag = (message) => mixBeyondFamilies(message, 9) & 0xff;

describe('what steps by one at every frame through two bytes', () => {
  it.each([
    ['a sum', sum],
    ['a tag by no known rule', table],
  ] as const)('is a counter beside %s, presumed to run through all of them', (_, tagOf) => {
    expect(findFieldsOfStream(streamOf(tagOf), {}).counters).toMatchObject([
      { lsb: { byte: 4, bit: 0 }, length: 16, order: 'little', step: 1, every: 1, min: 0, max: 65_535 },
    ]);
  });

  it('is none without a tag, being as likely a way or a time', () => {
    expect(
      findFieldsOfStream(
        streamOf(() => null),
        {},
      ).counters,
    ).toEqual([]);
  });

  it('is none beside a tag where it keeps the time, which frames do not', () => {
    const random = createRandom('late frames');
    const times = Array.from({ length: COUNT }, (_, row) => START + Math.floor(row + 0.25 * random.normal()));
    expect(
      findFieldsOfStream(
        streamOf(sum, (row) => times[row] as number),
        {},
      ).counters,
    ).toEqual([]);
  });
});

describe('what steps by one at every frame within a byte, not once around', () => {
  const few = (tagBytes: number): ReturnType<typeof makeStream> => {
    const random = createRandom('few frames');
    const payload = new Uint8Array(97 * 8);
    let level = 90;
    for (let row = 0; row < 97; row++) {
      level += random.below(5) - 2;
      const tag = Array.from({ length: tagBytes }, () => random.below(256));
      payload.set([level, 3, 0, 0, 120 + row, ...tag], row * 8);
    }
    return makeStream(payload, 8);
  };

  it('is a counter beside three bytes drawn anew', () => {
    expect(findFieldsOfStream(few(3), {}).counters).toMatchObject([
      { lsb: { byte: 4, bit: 0 }, length: 8, step: 1, every: 1, min: 0, max: 255 },
    ]);
  });

  it('is none beside bytes that stand still', () => {
    expect(findFieldsOfStream(few(0), {}).counters).toEqual([]);
  });
});

describe('a sum of two bytes over a few', () => {
  it('is settled: out of so wide a sum nothing carries, however a carry is treated', () => {
    const random = createRandom('wide sum');
    const payload = new Uint8Array(COUNT * 8);
    for (let row = 0; row < COUNT; row++) {
      const message = [
        random.below(128),
        random.below(90),
        9,
        70 + random.below(4),
        random.below(250),
        16 * (row % 15),
      ];
      const complement = 0xffff - (0x98 + message.reduce((all, byte) => all + byte, 0));
      payload.set([...message, complement >> 8, complement & 0xff], row * 8);
    }
    const [rule, ...others] = findFieldsOfStream(makeStream(payload, 8), {}).checksums;
    expect(others).toEqual([]);
    expect(rule).toMatchObject({ lsb: { byte: 7, bit: 0 }, length: 16, order: 'big', method: 'sum', xorout: '0xFFFF' });
    expect(rule?.confidence).toBeGreaterThan(0.9);
  });
});
