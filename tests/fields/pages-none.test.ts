import { describe, expect, it } from 'vitest';
import { leftBy } from '../../src/fields/mask.ts';
import { fieldsOfPages } from '../../src/fields/pages.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import type { Judged } from '../../src/fields/selector-choice.ts';
import { cheapestOf } from '../../src/fields/selector-prices.ts';
import { runThrough } from '../../src/fields/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk } from './support/streams.ts';

type Selector = Parameters<typeof fieldsOfPages>[1][number];

describe('what is no page', () => {
  it('are values that drift, whatever rises and falls together at a number that goes round', () => {
    const count = 1200;
    const bytes = 16;
    const random = createRandom('drifting');
    const walks = Array.from({ length: 6 }, () => physicalWalk(random, count, 5000, 60_000));
    const payload = new Uint8Array(count * bytes);
    for (let row = 0; row < count; row++) {
      payload[row * bytes] = (row % 8) << 4;
      walks.forEach((walk, at) => {
        const value = walk[row] as number;
        payload.set([value & 255, value >> 8], row * bytes + 2 + 2 * at);
      });
    }
    const rows = rowsOfStream(makeStream(payload, bytes));
    const turning: Selector = {
      name: 'turning',
      lsb: { byte: 0, bit: 4 },
      length: 3,
      order: 'little',
      values: [0, 1, 2, 3, 4, 5, 6, 7],
      saved: 0.2,
      gain: 1000,
      listed: true,
      inTurn: true,
      isList: true,
      on: [],
    };
    const free = leftBy(movedMask(rows), [turning]);
    const usable = leftBy(new Uint8Array(bytes).fill(0xff), [turning]);
    const options = { decisions: [], orderBits: { little: 0, big: 0 } };
    expect(runThrough(fieldsOfPages(rows, [turning], free, usable, options))).toBeNull();
  });
});

describe('the cheapest of rivals', () => {
  const rivalAt = (byte: number, bits: number): Parameters<typeof cheapestOf>[0][number] => {
    const pages = new Uint8Array(4);
    const rival: Judged = {
      lsb: { byte, bit: 0 },
      length: 2,
      order: 'little',
      pages,
      values: [1, 5],
      listed: true,
      inTurn: false,
      saved: 0.5,
      gain: 1000,
      isList: false,
    };
    return { rival, bits };
  };

  it('is told also where what its pages save within is more than it takes', () => {
    expect(cheapestOf([rivalAt(3, 900), rivalAt(1, -40), rivalAt(2, 20)]).lsb.byte).toBe(1);
  });
});
