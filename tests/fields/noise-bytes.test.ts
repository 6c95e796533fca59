/** Ciphertext and noise: told by what drawn bits do, known as such where values lie beside them, and nothing claimed in them. */
import { describe, expect, it } from 'vitest';
import { bitPositions, type Placement } from '../../src/frames/bits.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { noiseBytes } from '../../src/fields/noise-bytes.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { makeStream } from './support/streams.ts';

type Row = (row: number, random: Random) => readonly number[];

function streamOf(bytes: number, count: number, seed: string, rowOf: Row): ReturnType<typeof makeStream> {
  const random = createRandom(seed);
  const payload = new Uint8Array(bytes * count);
  for (let row = 0; row < count; row++) payload.set(rowOf(row, random), row * bytes);
  return makeStream(payload, bytes);
}

const drawn = (random: Random, bytes: number): number[] => Array.from({ length: bytes }, () => random.below(256));

const noiseOf = (stream: ReturnType<typeof makeStream>): number[] => {
  const mask = noiseBytes(rowsOfStream(stream), new Uint8Array(stream.length).fill(0xff));
  return [...mask.keys()].filter((byte) => mask[byte] !== 0);
};

/** Fields, counters and selectors that have a bit of some bytes. */
function claimsIn(stream: ReturnType<typeof makeStream>, from: number, to: number): string[] {
  const { fields, counters, selectors } = findFieldsOfStream(stream, {});
  return [...fields, ...counters, ...selectors]
    .filter((each) => bitPositions(each as Placement).some((at) => at >= from * 8 && at < to * 8))
    .map(({ name, why }) => `${name}: ${why}`);
}

/** Bytes of a 32-bit floating-point number (IEEE 754), most significant last. */
function floatBytes(value: number): number[] {
  const view = new DataView(new ArrayBuffer(4));
  view.setFloat32(0, value, true);
  return [0, 1, 2, 3].map((byte) => view.getUint8(byte));
}

describe('bytes that change like random bits', () => {
  it.each([30, 100, 1000])('are known as noise in nearly all draws of %i rows', (count) => {
    let known = 0;
    for (let draw = 0; draw < 200; draw++)
      if (noiseOf(streamOf(4, count, `drawn ${draw}`, (_, random) => [7, ...drawn(random, 3)])).join() === '1,2,3')
        known++;
    expect(known).toBeGreaterThan(192);
  });

  it('are too few to tell where two lie by themselves', () => {
    expect(noiseOf(streamOf(4, 600, 'two', (row, random) => [row & 3, ...drawn(random, 2), 9]))).toEqual([]);
  });

  it('are not the precision of floating-point numbers side by side, nor a noisy number of 24 bits', () => {
    const floats = streamOf(8, 800, 'floats', (row, random) => {
      const [speed, current] = [30 + 9 * Math.sin(row / 90), 120 + 40 * Math.sin(row / 70)].map(
        (each) => each + random.normal() * 2,
      );
      return [...floatBytes(speed as number).reverse(), ...floatBytes(current as number)];
    });
    expect(noiseOf(floats)).toEqual([]);
    const numbers = streamOf(3, 800, 'number', (row, random) => {
      const value = Math.round(8e6 + 3e6 * Math.sin(row / 100) + 40_000 * random.normal());
      return [value & 0xff, (value >> 8) & 0xff, value >> 16];
    });
    expect(noiseOf(numbers)).toEqual([]);
  });

  it('hold no value where two bits beside them take turns', () => {
    const stream = streamOf(8, 230, 'header', (row, random) => [(row % 4) | ((row & 1) << 3), ...drawn(random, 7)]);
    expect(noiseOf(stream)).toEqual([1, 2, 3, 4, 5, 6, 7]);
    expect(claimsIn(stream, 1, 8)).toEqual([]);
  });

  it('hold no cells on the pages of a short capture', () => {
    const levels = Array.from({ length: 8 }, (_, page) => 300 + 450 * page);
    const stream = streamOf(6, 190, 'pages', (row, random) => {
      const page = row % 8;
      levels[page] = Math.max(0, Math.min(4095, levels[page]! + random.below(21) - 10));
      return [page, levels[page]! & 0xff, (levels[page]! >> 8) | ((page * 5) << 4), ...drawn(random, 3)];
    });
    expect(findFieldsOfStream(stream, {}).selectors.map(({ lsb }) => lsb.byte)).toEqual([0]);
    expect(claimsIn(stream, 3, 6)).toEqual([]);
  });

  it('are left over as enciphered, and the value beside them is read', () => {
    const stream = streamOf(6, 400, 'beside', (row, random) => [
      Math.round(128 + 100 * Math.sin(row / 40)),
      ...drawn(random, 5),
    ]);
    const { fields, unclaimed } = findFieldsOfStream(stream, {});
    expect(fields.map(({ lsb, length }) => [lsb.byte, lsb.bit, length])).toEqual([[0, 0, 8]]);
    expect(unclaimed.filter(({ reason }) => reason === 'cipher').map(({ lsb }) => lsb.byte)).toEqual([1, 2, 3, 4, 5]);
  });
});
