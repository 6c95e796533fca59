/** Borders that a capture shows and those that it leaves open, on payloads small enough to judge by hand. */
import { describe, expect, it } from 'vitest';
import type { Placement } from '../../src/frames/bits.ts';
import type { Stream } from '../../src/frames/table.ts';
import { bordersOf } from './fields-tellable.ts';
import { Sight, type KnownField } from './fields-truth.ts';

const fieldAt = (bit: number, length: number): KnownField => ({
  place: { lsb: { byte: bit >> 3, bit: bit & 7 }, length, order: 'little' } satisfies Placement,
  on: [],
  coding: 'unsigned',
  kind: 'number',
  model: '',
  quantity: null,
  kin: null,
  blurred: false,
});

function bordersIn(payloads: readonly number[], fields: readonly KnownField[]): string[] {
  const stream = {
    stride: 2,
    count: payloads.length,
    payload: Uint8Array.from(payloads.flatMap((word) => [word & 255, word >> 8])),
  };
  const sight = new Sight(stream as unknown as Stream);
  const borders = bordersOf(sight.seeAll(fields), sight);
  return [...borders.values()];
}

describe('which true fields can be told from a neighbour', () => {
  it('says so of flags that only switched in one frame, whatever came between', () => {
    expect(bordersIn([0, 0, 3, 3, 0, 3], [fieldAt(0, 1), fieldAt(1, 1)])).toEqual(['never parted', 'never parted']);
    expect(bordersIn([0, 9, 9], [fieldAt(0, 1), fieldAt(3, 1)])).toEqual(['never parted', 'never parted']);
  });

  it('asks of two flags that three of their four changes were seen, as one state may take any two', () => {
    expect(bordersIn([0, 1, 3], [fieldAt(0, 1), fieldAt(1, 1)])).toEqual(['hardly parted', 'hardly parted']);
    expect(bordersIn([0, 1, 3, 2], [fieldAt(0, 1), fieldAt(1, 1)])).toEqual(['told', 'told']);
  });

  it('takes the to and fro of one flag for little, but not for nothing', () => {
    const blinks = (times: number): number[] => [3, ...Array.from({ length: times }, (_, i) => i & 1)];
    expect(bordersIn(blinks(3), [fieldAt(0, 1), fieldAt(1, 1)])[0]).toBe('hardly parted');
    expect(bordersIn(blinks(100), [fieldAt(0, 1), fieldAt(1, 1)])[0]).toBe('told');
  });

  it('leaves open what only the small steps of a number below could show, and not what its large ones do', () => {
    const started = 0xffff;
    const creeping = [started, ...Array.from({ length: 40 }, (_, i) => 0x2040 + i)];
    const leaping = [started, ...Array.from({ length: 40 }, (_, i) => 0x2000 + ((i * 97) & 255))];
    expect(bordersIn(creeping, [fieldAt(0, 8), fieldAt(8, 8)])).toEqual(['hardly parted', 'hardly parted']);
    expect(bordersIn(leaping, [fieldAt(0, 8), fieldAt(8, 8)])).toEqual(['told', 'told']);
  });

  it('asks nothing of fields with another between', () => {
    expect(bordersIn([0, 7, 7], [fieldAt(0, 1), fieldAt(1, 1), fieldAt(2, 1)])).toEqual(Array(3).fill('never parted'));
    expect(bordersIn([0, 7, 5, 7, 5], [fieldAt(0, 1), fieldAt(2, 1)])).toEqual(['told', 'told']);
  });
});
