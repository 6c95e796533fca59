import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { leftBy } from '../../src/fields/mask.ts';
import { fieldsOfPages } from '../../src/fields/pages.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { runThrough } from '../../src/fields/steps.ts';
import type { FieldFinding } from '../../src/fields/types.ts';
import type { ByteOrder, Placement } from '../../src/frames/bits.ts';
import { bitPositions } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

interface Pack {
  readonly order: ByteOrder;
  readonly pitch: number;
  readonly pages: number;
  readonly bytes: number;
  /** Cells of all pages; the last page may be shorter. */
  readonly cells: number;
}

const COUNT = 2000;
const HEADER = 8;

/** Where a cell lies, the first bits of a payload being the page: counted from the lowest bit (little) or from the highest (big). */
function slotOf({ order, pitch }: Pack, slot: number): Placement {
  const from = HEADER + slot * pitch;
  const last = from + pitch - 1;
  const lsb = order === 'little' ? { byte: from >> 3, bit: from & 7 } : { byte: last >> 3, bit: 7 - (last & 7) };
  return { lsb, length: pitch, order };
}

const perPage = ({ pitch, bytes }: Pack): number => Math.floor((8 * bytes - HEADER) / pitch);

/** Cells that follow their pack, each an offset and noise of its own; every fourth never moves, those of a page past the last are all ones. */
function packStream(pack: Pack): ReturnType<typeof makeStream> {
  const { pages, bytes, pitch } = pack;
  const random = createRandom(`pack ${pack.order} ${pitch}`);
  const payload = new Uint8Array(COUNT * bytes);
  const middle = 2 ** (pitch - 1);
  const walk = physicalWalk(random, COUNT, middle - 12, middle + 12);
  const turns = Float64Array.from({ length: COUNT }, (_, row) => row % pages);
  writeColumn(payload, bytes, { lsb: { byte: 0, bit: 0 }, length: 8, order: 'little' }, turns);
  for (let slot = 0; slot < perPage(pack); slot++) {
    const offsets = Array.from({ length: pages }, () => random.below(9));
    const column = Float64Array.from({ length: COUNT }, (_, row) => {
      const page = row % pages;
      const cell = page * perPage(pack) + slot;
      if (cell >= pack.cells) return 2 ** pitch - 1;
      return (cell % 4 === 3 ? middle : (walk[row] as number) + random.below(2)) + (offsets[page] as number);
    });
    writeColumn(payload, bytes, slotOf(pack, slot), column);
  }
  return makeStream(payload, bytes);
}

const holdsAll = (slot: Placement, field: FieldFinding): boolean => {
  const own = new Set(bitPositions(slot));
  return bitPositions(field as Placement).every((at) => own.has(at));
};

/** Fields that reach over the border of a cell, and cells with more than one field on a page. */
function cutOf(pack: Pack, fields: readonly FieldFinding[]): { across: string[]; cut: string[] } {
  const slots = Array.from({ length: perPage(pack) }, (_, slot) => slotOf(pack, slot));
  const across = fields.filter((field) => !slots.some((slot) => holdsAll(slot, field)));
  const cut = slots.filter((slot) => {
    const own = fields.filter((field) => holdsAll(slot, field)).map(({ when }) => JSON.stringify(when));
    return new Set(own).size < own.length;
  });
  return { across: across.map((each) => placeKey(each as Placement)), cut: cut.map(placeKey) };
}

type Selector = Parameters<typeof fieldsOfPages>[1][number];

const numberedBy = (name: string, lsb: Placement['lsb'], length: number, on: Selector['on']): Selector => ({
  name,
  lsb,
  length,
  order: 'little',
  values: [0, 1, 2, 3],
  saved: 0.3,
  gain: 1000,
  listed: true,
  isList: false,
  on,
});

describe('lists of cells', () => {
  const packs: Pack[] = [
    { order: 'little', pitch: 12, pages: 5, bytes: 8, cells: 19 },
    { order: 'big', pitch: 12, pages: 4, bytes: 8, cells: 16 },
    { order: 'big', pitch: 13, pages: 4, bytes: 8, cells: 14 },
    { order: 'little', pitch: 10, pages: 4, bytes: 8, cells: 20 },
    { order: 'big', pitch: 16, pages: 4, bytes: 8, cells: 12 },
    { order: 'little', pitch: 14, pages: 3, bytes: 24, cells: 34 },
  ];
  it.each(packs)('reads $cells cells of $pitch bits, $order, on $pages pages of $bytes bytes as cells', (pack) => {
    const { selectors, fields } = findFieldsOfStream(packStream(pack), {});
    expect(selectors).toHaveLength(1);
    expect(cutOf(pack, fields)).toEqual({ across: [], cut: [] });
    const moving = Array.from({ length: pack.cells }, (_, cell) => cell).filter((cell) => cell % 4 !== 3);
    expect(fields).toHaveLength(moving.length);
    expect(fields.every(({ why }) => why.includes(`cells of ${pack.pitch} bits`))).toBe(true);
  });

  it('finds where the cells begin among all the cuts of their pitch', () => {
    // Long payloads, cells of 13 bits in the upper end of slots of 16: the still bits below them belong to the one as well as to the next.
    const [count, pages, bytes, stillBits] = [500, 2, 64, 3];
    const random = createRandom('slots with still bits');
    const payload = new Uint8Array(count * bytes);
    const walk = physicalWalk(random, count, 4600, 4700);
    for (let row = 0; row < count; row++) payload[row * bytes] = row % pages;
    const slots = Array.from({ length: 31 }, (_, slot): Placement => {
      return { lsb: { byte: 3 + 2 * slot - 1, bit: stillBits }, length: 16 - stillBits, order: 'big' };
    });
    slots.forEach((slot) => {
      const offsets = Array.from({ length: pages }, () => random.below(40));
      const column = walk.map((value, row) => value + random.below(3) + (offsets[row % pages] as number));
      writeColumn(payload, bytes, slot, column);
    });
    const { fields } = findFieldsOfStream(makeStream(payload, bytes), {});
    expect(fields).toHaveLength(pages * slots.length);
    expect(fields.filter((field) => !slots.some((slot) => holdsAll(slot, field)))).toEqual([]);
    expect(fields.every(({ why }) => why.includes('cells of 16 bits'))).toBe(true);
  });

  it.each([
    {
      order: 'little',
      lsbs: [
        [1, 0],
        [3, 0],
        [4, 4],
      ],
    },
    {
      order: 'big',
      lsbs: [
        [1, 0],
        [3, 0],
        [5, 4],
      ],
    },
  ] as const)('reads cells that stand at an uneven pitch as cells, $order', ({ order, lsbs }) => {
    // Two cells each with two bytes of their own, the last behind them without room to spare; page number in the last byte.
    const [count, pages, bytes, length] = [1500, 6, 8, 12];
    const random = createRandom(`uneven ${order}`);
    const payload = new Uint8Array(count * bytes);
    for (let row = 0; row < count; row++) payload[row * bytes + 7] = row % pages;
    const walk = physicalWalk(random, count, 2050, 2058);
    const slots = lsbs.map(([byte, bit]): Placement => ({ lsb: { byte, bit }, length, order }));
    for (const slot of slots) {
      const offsets = Array.from({ length: pages }, () => random.below(14));
      const column = walk.map((value, row) => value + random.below(3) + (offsets[row % pages] as number));
      writeColumn(payload, bytes, slot, column);
    }
    const { fields } = findFieldsOfStream(makeStream(payload, bytes), {});
    expect(fields).toHaveLength(pages * slots.length);
    expect(fields.filter((field) => !slots.some((slot) => holdsAll(slot, field)))).toEqual([]);
    expect(fields.every(({ why }) => why.includes('3 cells') && why.includes('uneven pitch'))).toBe(true);
  });

  it('keeps modules apart whose cells go alike, as each number names cells of its own', () => {
    const random = createRandom('modules alike');
    const pack = physicalWalk(random, COUNT, 30_000, 31_000);
    const offsets = Array.from({ length: 6 }, () => Math.round(400 * random.normal()));
    const payload = new Uint8Array(COUNT * 8);
    for (let row = 0; row < COUNT; row++) {
      const page = row % 4;
      payload[row * 8] = page;
      for (let cell = 0; cell < 3; cell++) {
        const own = page < 2 ? (offsets[3 * page + cell] as number) : 700;
        const value = (pack[row] as number) + own + Math.round(2 * random.normal());
        payload.set([value & 255, value >> 8], row * 8 + 1 + 2 * cell);
      }
    }
    const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(fields).toHaveLength(12);
    expect(fields.every(({ when }) => Object.values(when ?? {})[0]?.length === 1)).toBe(true);
  });

  it('takes bits of a cell for no selector within its page, though they tell much of the cells beside it', () => {
    const rows = rowsOfStream(packStream({ order: 'little', pitch: 8, pages: 4, bytes: 8, cells: 28 }));
    const outer = numberedBy('page', { byte: 0, bit: 0 }, 2, []);
    const inner = numberedBy('cell', { byte: 5, bit: 2 }, 2, [{ place: outer, values: [2] }]);
    const free = leftBy(movedMask(rows), [outer]);
    const usable = leftBy(new Uint8Array(8).fill(0xff), [outer]);
    const options = { decisions: [], orderBits: { little: 0, big: 0 } };
    const paged = runThrough(fieldsOfPages(rows, [outer, inner], free, usable, options));
    expect(paged?.selectors.map(({ name }) => name)).toEqual(['page']);
  });

  it('takes pages of unlike values for no list', () => {
    const count = 2400;
    const payload = new Uint8Array(count * 8);
    const random = createRandom('unlike');
    const walks = Array.from({ length: 3 }, (_, page) => physicalWalk(random, count, 3000 * page, 3000 * page + 40000));
    for (let row = 0; row < count; row++) {
      const page = row % 3;
      const value = (walks[page] as Float64Array)[row] as number;
      const mode = (Math.floor(row / 90) + page) % 3;
      payload.set([page, value & 255, value >> 8, mode, 0, (value >> 10) & 255, 0, row % 400 < 7 ? 1 : 0], row * 8);
    }
    const { fields } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(fields.filter(({ why }) => why.includes('list of'))).toEqual([]);
  });
});
