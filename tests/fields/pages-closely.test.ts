/** What pages hold is divided as closely as what lies outside pages: by carries and courses, most values of a frame in one order. The draws are our own; no outside source. */
import { describe, expect, it } from 'vitest';
import { UNBIASED, type DivideOptions } from '../../src/fields/divide.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { divisionOf, inUsualOrder, type Priced } from '../../src/fields/page-prices.ts';
import type { Candidate } from '../../src/fields/span-candidate.ts';
import type { ByteOrder, Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey } from './support/streams.ts';

const COUNT = 1200;

describe('a value on a page', () => {
  it('stays whole where it lies at zero, but for noise, between pulses', () => {
    const random = createRandom('pulses on a page');
    const speed = physicalWalk(random, COUNT, 0, 4000);
    const payload = new Uint8Array(COUNT * 8);
    for (let row = 0; row < COUNT; row++) {
      const pulse = Math.max(0, Math.sin(row / 90)) ** 3 * 9000;
      const value = Math.max(0, Math.min(16000, Math.round(pulse + 300 * random.normal())));
      const other = speed[row] as number;
      const split = (one: number): readonly number[] => [one & 255, one >> 8];
      const content =
        row % 2 === 0 ? [0, ...split(value), 0, 0, 0, 0] : [...split(other), 0xff, 0, ...split(other >> 2), 0];
      payload.set([row % 2, ...content], row * 8);
    }
    const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
    const own = fields.filter(({ when }) => Object.values(when ?? {})[0]?.[0] === 0);
    expect(own.map((field) => placeKey(field as Placement))).toEqual([
      placeKey({ lsb: { byte: 2, bit: 0 }, length: 14, order: 'little' }),
    ]);
  });
});

/** Sixteen bits over two bytes. */
const wide = (order: ByteOrder, price: number): Candidate => ({
  order,
  lsb: order === 'little' ? 0 : 8,
  length: 16,
  first: 0,
  last: 1,
  lowBit: 0,
  highBit: 7,
  cost: { bits: price, model: 'number', pairs: 99, moves: 50, isFilled: false },
  price,
});

const pageOf = (candidates: readonly Candidate[]): Priced => ({
  rows: { bytes: 2, count: 200, data: new Uint8Array(400), joined: new Uint8Array(200).fill(1) },
  free: new Uint8Array(2).fill(0xff),
  candidates,
});

describe('the order of bytes on the pages of one frame', () => {
  it.each(['little', 'big'] as const)('is that of the page which tells it where another hardly does (%s)', (order) => {
    const other = order === 'little' ? 'big' : 'little';
    const pages = [
      [wide(order, 50), wide(other, 80)],
      [wide(order, 60), wide(other, 58)],
    ].map(pageOf);
    const options: DivideOptions = { decisions: [], orderBits: UNBIASED };
    const ordersBy = (own: DivideOptions): (ByteOrder | undefined)[] =>
      pages.map((page) => divisionOf(page, own).spans[0]?.order);
    expect(ordersBy(options)).toEqual([order, other]);
    expect(ordersBy(inUsualOrder(pages, [], options))).toEqual([order, order]);
  });
});
