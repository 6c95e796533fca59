import { describe, expect, it } from 'vitest';
import { binaryCost, seldomCost } from '../../src/fields/code-length.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { layoutPrice } from '../../src/fields/layout-price.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const COUNT = 900;
const place = (byte: number, bit: number, length: number, order: 'little' | 'big' = 'little'): Placement => ({
  lsb: { byte, bit },
  length,
  order,
});

function found(columns: readonly (readonly [Placement, ArrayLike<number>])[]): string[] {
  const payload = new Uint8Array(COUNT * 8);
  for (const [placement, values] of columns) writeColumn(payload, 8, placement, Float64Array.from(values));
  const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
  return fields.map((field) => placeKey(field as Placement)).sort();
}

/** 0 or 1, turned at these frames. */
const switched = (first: number, ...at: readonly number[]): number[] =>
  Array.from({ length: COUNT }, (_, row) => (first + at.filter((turn) => row >= turn).length) % 2);

/** Around zero in small steps, both ways. */
const aroundZero = (size: number): number[] =>
  Array.from(physicalWalk(createRandom('zero'), COUNT, 0, 2 * size), (value) => value - size);

describe('spans that seldom move', () => {
  it('keeps two flags apart that start at one and turn at different moments', () => {
    const columns = [
      [place(3, 1, 1), switched(1, 410, 700)],
      [place(3, 2, 1), switched(1, 120, 300, 520, 640)],
    ] as const;
    expect(found(columns)).toEqual(['3.1+1', '3.2+1']);
  });

  it.each([1, 2, 3, 4, 5])('keeps flags apart that one switch throws, and each by itself too, draw %i', (draw) => {
    const random = createRandom(`switch ${draw}`);
    const flags = [0, 1, 0];
    const turns = Array.from({ length: COUNT }, () => {
      const all = random.next() < 1 / 45;
      return flags.map((_, each) =>
        all !== random.next() < 1 / 300 ? (flags[each] = 1 - flags[each]!) : flags[each]!,
      );
    });
    const columns = flags.map((_, each) => [place(3, 1 + each, 1), turns.map((row) => row[each]!)] as const);
    expect(found(columns)).toEqual(['3.1+1', '3.2+1', '3.3+1']);
  });

  it.each([1, 2, 3, 4, 5])('keeps a value whole behind another that shows the same, draw %i', (draw) => {
    const random = createRandom(`shown twice ${draw}`);
    let level = 120;
    const shown = Array.from(
      { length: COUNT },
      () => (level = Math.max(0, Math.min(255, level + random.below(9) - 4))),
    );
    const columns = [
      [place(1, 0, 8), shown],
      [place(4, 0, 8), shown],
    ] as const;
    expect(found(columns)).toEqual(columns.map(([at]) => placeKey(at)).sort());
  });

  it('takes a slow value that goes to and fro by its last digit for one value', () => {
    const slow = switched(0, 100, 150, 260, 300, 520, 600).map((digit, row) => (row < 40 ? 1023 : 26 + digit));
    expect(found([[place(1, 0, 10), slow]])).toEqual([placeKey(place(1, 0, 10))]);
  });

  it('keeps a noisy value whole whose upper bits turned once, as it went to another level', () => {
    const random = createRandom('charging');
    const volts = Array.from({ length: COUNT }, (_, row) => (row < 40 ? 50 : 75) + Math.round(0.75 * random.normal()));
    expect(found([[place(1, 0, 8), volts]])).toEqual([placeKey(place(1, 0, 7))]);
  });
});

describe('spans that lie beside each other', () => {
  it('cuts a flag from states that moved once at another moment, though together they come and go from all ones', () => {
    const states = Array.from({ length: COUNT }, (_, row) => (row < 330 ? 0 : 7));
    const columns = [
      [place(2, 0, 3), states],
      [place(2, 3, 1), switched(0, 90, 450, 520, 600, 700, 810)],
    ] as const;
    expect(found(columns)).toEqual([placeKey(place(2, 0, 3)), placeKey(place(2, 3, 1))].sort());
  });

  it('takes flags with a spare bit each for flags where their module wakes', () => {
    const woken = (first: number, ...at: number[]): number[] =>
      switched(first, ...at).map((value, row) => (row < 12 ? 3 : value));
    const columns = [
      [place(1, 0, 2), woken(0, 200, 520)],
      [place(1, 2, 2), woken(1, 90, 330, 610, 700)],
      [place(1, 4, 2), woken(0, 410, 480, 805)],
      [place(1, 6, 2), woken(0, 260, 560)],
    ] as const;
    expect(found(columns)).toEqual(columns.map(([at]) => placeKey(at)).sort());
  });
});

describe('spans in other codings', () => {
  it('takes a sign beside a magnitude for one value', () => {
    const raw = aroundZero(900).map((value) => Math.abs(value) + (value < 0 ? 2048 : 0));
    expect(found([[place(2, 4, 12), raw]])).toEqual([placeKey(place(2, 4, 12))]);
  });

  it('takes decimal digits for one value', () => {
    const digits = (value: number): number =>
      (value % 10) + 16 * (Math.floor(value / 10) % 10) + 256 * Math.floor(value / 100);
    const walk = Array.from(physicalWalk(createRandom('digits'), COUNT, 0, 799), (value) => digits(Math.round(value)));
    expect(found([[place(4, 0, 11), walk]])).toEqual([placeKey(place(4, 0, 11))]);
  });
});

describe('spans beside a keyed tag', () => {
  it('does not take a tag for the low bits of a wide number with a quiet neighbour on top', () => {
    const random = createRandom('tag');
    const tag = Array.from({ length: COUNT }, () => random.below(2 ** 24));
    const quiet = switched(0, 200, 390, 600, 700).map((bit) => 5 * bit);
    const claimed = found([
      [place(2, 0, 24), tag],
      [place(5, 0, 3), quiet],
    ]);
    expect(claimed.filter((key) => /^[234]\./.test(key))).toEqual([]);
  });
});

const NUMBER = { model: 'number', isFilled: false } as const;
const WOKEN = { model: 'number', isFilled: true } as const;

describe('what a layout costs', () => {
  it('finds a pair of bits far likelier where both were set until their module woke, and more still bits above no help', () => {
    const still = { above: 6, below: 0 };
    expect(layoutPrice(0, 2, WOKEN, still)).toBeLessThan(layoutPrice(0, 2, NUMBER, { above: 0, below: 0 }) - 1);
    expect(layoutPrice(0, 9, WOKEN, still)).toBe(layoutPrice(0, 9, WOKEN, { above: 0, below: 0 }));
  });

  it('asks less for few moves at unknown places than the estimator of even shares, and never more', () => {
    expect(seldomCost(1000, 2)).toBeLessThan(binaryCost(1000, 2) - 2);
    expect(seldomCost(500, 500)).toBeLessThanOrEqual(binaryCost(500, 500));
    // Two places of 1002: log2(1002 * 1001 / 2) bits, and something for the number two.
    expect(seldomCost(1000, 2)).toBeGreaterThan(Math.log2((1002 * 1001) / 2));
  });

  it('is a code: the widths at one place, with nothing still beside them, cost no less than all of them may', () => {
    const price = (length: number): number => layoutPrice(0, length, NUMBER, { above: 0, below: 0 });
    const total = Array.from({ length: 30 }, (_, index) => 2 ** -price(index + 3)).reduce((sum, each) => sum + each);
    expect(total).toBeLessThan(1);
  });

  it('finds odd widths unlikely where the next bit up moves, and no more where it is still', () => {
    const [closed, open] = [0, 4].map((above) => layoutPrice(0, 9, NUMBER, { above, below: 0 }));
    expect(closed! - layoutPrice(0, 8, NUMBER, { above: 0, below: 0 })).toBeGreaterThan(1.5);
    expect(open).toBeLessThan(closed! - 1);
  });
});
