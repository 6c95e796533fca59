/** Most frames keep to one order of bytes (common practice, no source): it decides where little else tells. */
import { describe, expect, it } from 'vitest';
import { inOneOrder } from '../../src/fields/divide.ts';
import { segment } from '../../src/fields/segment.ts';
import type { Candidate } from '../../src/fields/span-candidate.ts';
import type { ByteOrder } from '../../src/frames/bits.ts';

/** Sixteen bits over two bytes from `first` on. */
const wide = (first: number, order: ByteOrder, price: number): Candidate => ({
  order,
  lsb: 8 * (order === 'little' ? first : first + 1),
  length: 16,
  first,
  last: first + 1,
  lowBit: 0,
  highBit: 7,
  cost: { bits: price, model: 'number', pairs: 99, moves: 50, isFilled: false },
  price,
});

const options = {
  free: new Uint8Array(4).fill(0xff),
  orderBits: { little: 0, big: 0 },
  refused: [],
  leaveBits: 1000,
} as const;

function orders(candidates: readonly Candidate[]): readonly ByteOrder[] {
  const { spans } = segment(4, candidates, inOneOrder(4, candidates, options));
  return spans.map(({ order }) => order);
}

describe('the order of bytes in one frame', () => {
  it.each(['little', 'big'] as const)('is that of the value which tells it where another hardly does (%s)', (order) => {
    const other = order === 'little' ? 'big' : 'little';
    const clear = [wide(0, order, 50), wide(0, other, 80)];
    expect(orders([...clear, wide(2, order, 60), wide(2, other, 58)])).toEqual([order, order]);
    expect(segment(4, [...clear, wide(2, order, 60), wide(2, other, 58)], options).spans[1]?.order).toBe(other);
  });

  it('stays what each value says where each says it clearly', () => {
    const each = [wide(0, 'little', 50), wide(0, 'big', 80), wide(2, 'little', 80), wide(2, 'big', 50)];
    expect(orders(each)).toEqual(['little', 'big']);
  });
});
