import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { CellPage, Lattice } from '../../src/fields/page-lattice.ts';
import { slotsAreAlike } from '../../src/fields/page-lattice-alike.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { createRandom, seedOf } from '../../src/kit/random.ts';
import { driveOf } from '../truth/fields-conditions.ts';
import { makeStream, writeColumn } from './support/streams.ts';

const ROWS = 60;
const slot = (at: number): Lattice['slots'][number] => ({
  lsb: { byte: 2 * at, bit: 0 },
  length: 16,
  order: 'little',
});
const lattice: Lattice = { order: 'little', pitch: 16, start: 0, slots: [slot(0), slot(1), slot(2)] };

/** Pages of three slots; widthOf: bits that move in a slot of a page, from that of fromOf up. */
const pagesOf = (
  count: number,
  widthOf: (at: number, page: number) => number,
  fromOf: (at: number) => number = () => 0,
): CellPage[] =>
  Array.from({ length: count }, (_, page) => {
    const random = createRandom(`page ${page}`);
    const payload = new Uint8Array(ROWS * 6);
    lattice.slots.forEach((each, at) => {
      const column = Float64Array.from(
        { length: ROWS },
        () => 4096 + 2 ** fromOf(at) * random.below(2 ** widthOf(at, page)),
      );
      writeColumn(payload, 6, { ...each, lsb: each.lsb }, column);
    });
    const rows = rowsOfStream(makeStream(payload, 6));
    return { rows, usable: new Uint8Array(6).fill(0xff), free: movedMask(rows) };
  });

describe('the slots of a list', () => {
  it('are of one kind where they differ from page to page as much as among each other', () => {
    expect(
      slotsAreAlike(
        lattice,
        pagesOf(8, (at, page) => 3 + ((at + page * 2) % 5)),
      ),
    ).toBe(true);
  });

  it('are different fields where each moves as far up on all pages, and not as far as the next', () => {
    expect(
      slotsAreAlike(
        lattice,
        pagesOf(8, (at) => [10, 11, 2][at] as number),
      ),
    ).toBe(false);
  });

  it('are different fields where each moves from another bit up, the same on all pages', () => {
    const wide = (at: number, page: number): number => 3 + ((at + page * 2) % 5);
    expect(
      slotsAreAlike(
        lattice,
        pagesOf(8, wide, (at) => [2, 0, 1][at] as number),
      ),
    ).toBe(false);
    expect(
      slotsAreAlike(
        lattice,
        pagesOf(8, wide, () => 2),
      ),
    ).toBe(true);
  });

  it('are told by no two pages: chance orders so few cells as well', () => {
    expect(
      slotsAreAlike(
        lattice,
        pagesOf(2, (at) => [10, 11, 2][at] as number),
      ),
    ).toBe(true);
  });
});

describe('a frame with one cell a page beside a voltage (a simulated vehicle on which these were taken for three cells)', () => {
  it('holds no list, and the cell is one field on its page', () => {
    const seed = seedOf('cal6a calibration stranger guarded') % 2 ** 30;
    const { streams } = driveOf({ maker: 'stranger', condition: 'guarded' }, seed);
    const { stream } = streams.find((each) => each.stream.id === 0x67c) as (typeof streams)[number];
    const { fields } = findFieldsOfStream(stream, {});
    expect(fields.filter(({ why }) => why.includes('list of'))).toEqual([]);
    const cells = fields.filter(({ when, lsb }) => when !== null && lsb.byte === 4 && lsb.bit === 1);
    expect(cells.length).toBeGreaterThanOrEqual(20);
    expect(cells.filter(({ length }) => length >= 10).length).toBeGreaterThanOrEqual(0.9 * cells.length);
  });
});
