/** Ciphertext beside other values, and numbers with noisy low bits. The layouts and draws are our own; no outside source. */
import { describe, expect, it } from 'vitest';
import { carryEvidence, coinsFrom, coinsOf, doubtOf, owedBySteps } from '../../src/fields/span-coins.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { bitPositions, type Placement } from '../../src/frames/bits.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { makeStream } from './support/streams.ts';

const ROWS = 400;
const BYTES = 8;

/** [ROWS] what one byte beside the ciphertext says. */
const BESIDE: Record<string, (random: Random) => (row: number) => number> = {
  'a slow byte': (random) => {
    let value = 100;
    return () => (value += random.below(5) === 0 ? random.below(3) - 1 : 0) & 255;
  },
  'a counter': () => (row) => -row & 255,
  flags: (random) => {
    let flags = 0x41;
    return () => (flags ^= random.below(50) === 0 ? 1 << random.below(3) : 0);
  },
  nothing: () => () => 0x50,
};

function claimsOn(bits: number, beside: string, draw: number): string[] {
  const random = createRandom(`coins ${bits} ${beside} ${draw}`);
  const data = new Uint8Array(ROWS * BYTES);
  const first = bits === 64 ? 0 : 1;
  const say = BESIDE[beside]!(random);
  for (let row = 0; row < ROWS; row++) {
    const payload = data.subarray(row * BYTES, (row + 1) * BYTES);
    payload[0] = say(row);
    for (let byte = 0; byte < bits / 8; byte++) payload[first + byte] = random.below(256);
  }
  const { fields, counters, selectors } = findFieldsOfStream(makeStream(data, BYTES), {});
  const touches = (at: number): boolean => at >= first * 8 && at < first * 8 + bits;
  return [...fields, ...counters, ...selectors]
    .filter((each) => bitPositions(each as Placement).some(touches))
    .map(({ lsb, length }) => `${beside}, ${bits} bits, draw ${draw}: ${lsb.byte}.${lsb.bit}+${length}`);
}

describe('coins', () => {
  it.each(Object.keys(BESIDE))('claims no ciphertext beside %s', { timeout: 120_000 }, (beside) => {
    const claims: string[] = [];
    for (const bits of [16, 24, 32, 48, 64])
      for (let draw = 0; draw < 3; draw++) claims.push(...claimsOn(bits, beside, draw));
    expect(claims).toEqual([]);
  });

  /** [rows] payloads of which `say` writes each. */
  function fieldsOf(rows: number, say: (payload: Uint8Array) => void): Placement[] {
    const data = new Uint8Array(rows * BYTES);
    for (let row = 0; row < rows; row++) say(data.subarray(row * BYTES, (row + 1) * BYTES));
    return findFieldsOfStream(makeStream(data, BYTES), {}).fields as unknown as Placement[];
  }
  const touching = (fields: readonly Placement[], bytes: readonly number[]): string[] =>
    fields
      .filter((each) => bitPositions(each).some((at) => bytes.includes(at >> 3)))
      .map(({ lsb, length }) => `${lsb.byte}.${lsb.bit}+${length}`);

  it.each([200, 600, 3000])('claims no byte of noise below a number that steps seldom (%i rows)', (rows) => {
    for (let draw = 0; draw < 4; draw++) {
      const random = createRandom(`slow ${rows} ${draw}`);
      let level = 1000 + random.below(800);
      const fields = fieldsOf(rows, (payload) => {
        if (random.below(4) === 0) level += random.below(3) - 1;
        payload.set([level >> 8, level & 255, random.below(256)], 1);
      });
      expect(touching(fields, [3])).toEqual([]);
      expect(touching(fields, [1, 2])).not.toEqual([]);
    }
  });

  it.each([40, 74])('joins no noise with flags in %i rows', (rows) => {
    for (let draw = 0; draw < 6; draw++) {
      const random = createRandom(`few ${rows} ${draw}`);
      let flags = 5;
      const fields = fieldsOf(rows, (payload) => {
        if (random.below(10) === 0) flags ^= 1 << random.below(5);
        payload.set([flags, random.below(256), random.below(256)], 2);
      });
      const wide = fields.filter(({ length }) => length > 1);
      expect(touching(wide, [3, 4])).toEqual([]);
    }
  });

  it.each([
    [200, 100, 0.15],
    [600, 100, 0.15],
    [1500, 150, 0.02],
    [1500, 300, 0.15],
    [600, 60, 3],
  ])('leaves numbers with noisy low bytes whole (%i rows, noise %f, walk %f)', (rows, noise, walk) => {
    for (let draw = 0; draw < 4; draw++) {
      const random = createRandom(`whole ${rows} ${noise} ${walk} ${draw}`);
      let level = 1000 + random.below(800);
      const fields = fieldsOf(rows, (payload) => {
        level += walk * random.normal();
        const value = Math.round(256 * level + noise * random.normal());
        payload.set([value >> 16, (value >> 8) & 255, value & 255], 1);
      });
      expect(fields.some(({ lsb, length }) => lsb.byte === 3 && lsb.bit === 0 && length > 8)).toBe(true);
      expect(touching(fields, [3])).toHaveLength(1);
    }
  });

  it('asks no carries of bits that step by much or hardly at all', () => {
    const rows = 400;
    const always = new Uint8Array(rows).fill(1).fill(0, 0, 1);
    const steps = (each: number, every: number): Uint32Array =>
      Uint32Array.from({ length: rows }, (_, row) => (each * Math.floor(row / every)) << 8);
    expect(owedBySteps(steps(1, 5), always, 8, 16)).toBeGreaterThan(0);
    expect(owedBySteps(steps(3, 5), always, 8, 16)).toBeUndefined();
    expect(owedBySteps(steps(1, 100), always, 8, 16)).toBeUndefined();
  });

  /** A level that wanders, under noise of a normal shape, above twelve bits. */
  function noisy(random: Random, noise: number): Uint32Array {
    let level = 30000;
    return Uint32Array.from({ length: 1500 }, () => {
      level += 40 * (random.below(101) - 50);
      let off = -6;
      for (let i = 0; i < 12; i++) off += random.below(1e6) / 1e6;
      return Math.max(0, Math.round(level + noise * off)) & 0xfffff;
    });
  }
  const joined = new Uint8Array(1500).fill(1).fill(0, 0, 1);

  it('finds the carries of a noisy number, and none where its low bits are another thing', () => {
    for (let draw = 0; draw < 10; draw++) {
      const random = createRandom(`carry ${draw}`);
      const word = noisy(random, 700);
      expect(carryEvidence(word, joined, 11, 9, 11)).toBeGreaterThan(doubtOf(11));
      const strange = word.map((value) => (value & ~0x7ff) | random.below(2048));
      expect(carryEvidence(strange, joined, 11, 9, 11)).toBeLessThan(0);
    }
  });

  it('takes the low bits of a steady ramp for no coins', () => {
    const ramp = Uint32Array.from({ length: 1500 }, (_, row) => 5000 + 447 * row);
    expect(carryEvidence(ramp, joined, 8, 12, 8)).toBeGreaterThan(doubtOf(8));
  });

  it('counts coins in the order of a span, and doubts the more the longer they run', () => {
    const random = createRandom('run');
    const data = Uint8Array.from({ length: 1000 * 3 }, (_, at) => (at % 3 === 0 ? 7 : random.below(256)));
    const rows = { bytes: 3, count: 1000, data, joined: new Uint8Array(1000).fill(1).fill(0, 0, 1) };
    const coins = coinsOf(rows);
    expect([...coins]).toEqual([0, 255, 255]);
    expect(coinsFrom(coins, coins, 23, -1, 'little')).toBe(16);
    expect(coinsFrom(coins, coins, 23, -1, 'big')).toBe(8);
    expect(doubtOf(6)).toBe(0);
    expect(doubtOf(8)).toBeGreaterThan(doubtOf(7));
  });
});
