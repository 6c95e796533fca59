/** Counters that each page keeps for itself. By construction (no source: synthetic frames). */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { bitPositions, type Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, writeColumn } from './support/streams.ts';

const [COUNT, BYTES, PAGES] = [2400, 8, 4];
const COUNTER: Placement = { lsb: { byte: 7, bit: 0 }, length: 4, order: 'little' };

/** Pages 16 to 19 in turn, two values of 12 bits on each; lowOf: the four low bits of the last byte, by page and how often it has come. */
function pagedStream(name: string, lowOf: (page: number, visit: number) => number): ReturnType<typeof makeStream> {
  const random = createRandom(name);
  const payload = new Uint8Array(COUNT * BYTES);
  for (let row = 0; row < COUNT; row++) {
    const page = row % PAGES;
    payload[row * BYTES] = 16 + page;
    payload[row * BYTES + 7] = 0xa0 | lowOf(page, Math.floor(row / PAGES));
  }
  for (const byte of [2, 4]) {
    const walks = Array.from({ length: PAGES }, (_, page) => physicalWalk(random, COUNT, 600 * page, 600 * page + 900));
    const column = Float64Array.from(
      { length: COUNT },
      (_, row) => (walks[row % PAGES] as Float64Array)[row] as number,
    );
    writeColumn(payload, BYTES, { lsb: { byte, bit: 0 }, length: 12, order: 'big' }, column);
  }
  return makeStream(payload, BYTES);
}

const touches = (place: unknown): boolean =>
  bitPositions(place as Placement).some((at) => bitPositions(COUNTER).includes(at));

describe('bits that count on from one time that a page comes to its next', () => {
  it('are a counter of each page, from wherever it began, and no field', () => {
    const { counters, fields, selectors } = findFieldsOfStream(
      pagedStream('own', (page, visit) => (visit + [3, 14, 9, 0][page]!) % 16),
      {},
    );
    expect(selectors).toHaveLength(1);
    const name = selectors[0]!.name;
    const onPages = counters.filter(({ when }) => when !== null);
    expect(onPages.map(({ when }) => when?.[name]?.length)).toEqual([1, 1, 1, 1]);
    for (const counter of onPages) expect(counter).toMatchObject({ ...COUNTER, step: 1, min: 0, max: 15 });
    expect(new Set(onPages.map((counter) => counter.name)).size).toBe(PAGES);
    expect(fields.filter(touches)).toEqual([]);
    expect(fields.length).toBeGreaterThanOrEqual(2 * PAGES);
  });

  // Ten pages in turn, or twelve of two frames a step: from one time that a page comes to its next the counter has gone on by 2 more than some rounds.
  it.each([
    { pages: 10, every: 1 },
    { pages: 12, every: 2 },
  ])(
    'are one counter where they go on from page to page, though each page sees no more than one bit of it toggle: $pages pages, every $every',
    ({ pages, every }) => {
      const rounds = { pages, bits: { lsb: { byte: 7, bit: 0 }, length: 2, order: 'little' } as const };
      const random = createRandom('goes on');
      const payload = new Uint8Array(COUNT * BYTES);
      const walks = Array.from({ length: rounds.pages }, (_, page) =>
        physicalWalk(random, COUNT, 600 * page, 600 * page + 900),
      );
      const column = Float64Array.from(
        { length: COUNT },
        (_, row) => (walks[row % rounds.pages] as Float64Array)[row]!,
      );
      for (let row = 0; row < COUNT; row++) {
        payload[row * BYTES] = 16 + (row % rounds.pages);
        payload[row * BYTES + 7] = 0xa0 | (Math.floor(row / every) & 3);
      }
      for (const byte of [2, 4])
        writeColumn(payload, BYTES, { lsb: { byte, bit: 0 }, length: 12, order: 'big' }, column);
      const { counters, fields, selectors } = findFieldsOfStream(makeStream(payload, BYTES), {});
      expect(selectors).toHaveLength(1);
      expect(counters).toHaveLength(1);
      expect(counters[0]).toMatchObject({ ...rounds.bits, step: 1, every, min: 0, max: 3, when: null });
      expect(fields.filter(touches)).toEqual([]);
    },
  );

  it('are none where they count on one page and hold a value on the others', () => {
    const random = createRandom('values');
    const walks = Array.from({ length: PAGES }, () => physicalWalk(random, COUNT, 2, 14));
    const { counters } = findFieldsOfStream(
      pagedStream('one', (page, visit) => (page === 0 ? visit % 16 : (walks[page] as Float64Array)[visit]!)),
      {},
    );
    expect(counters.filter(touches)).toEqual([]);
  });

  it('are none where they count on half of the pages on which they move', () => {
    const random = createRandom('half');
    const walks = Array.from({ length: PAGES }, () => physicalWalk(random, COUNT, 2, 14));
    const { counters } = findFieldsOfStream(
      pagedStream('half', (page, visit) =>
        page < 2 ? (visit + 5 * page) % 16 : (walks[page] as Float64Array)[visit]!,
      ),
      {},
    );
    expect(counters.filter(touches)).toEqual([]);
  });

  it('are none where they move on a single page, as a ramp may', () => {
    const { counters } = findFieldsOfStream(
      pagedStream('single', (page, visit) => (page === 0 ? visit % 16 : 0)),
      {},
    );
    expect(counters.filter(touches)).toEqual([]);
  });
});
