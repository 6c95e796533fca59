import { describe, expect, it } from 'vitest';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { turnBits, turnsOf } from '../../src/fields/page-turns.ts';
import type { CounterBits } from '../../src/fields/selector-candidates.ts';
import { findSelectors, type SelectorFinding } from '../../src/fields/selectors.ts';
import { runThrough } from '../../src/fields/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk } from './support/streams.ts';

const COUNT = 4000;
const walkOf = (name: string, low: number, high: number): Float64Array =>
  physicalWalk(createRandom(name), COUNT, low, high);

/** fill: what the payload of each row holds. */
function selectorsOf(
  fill: (row: number) => readonly number[],
  counters: readonly CounterBits[] = [],
): SelectorFinding[] {
  const payload = new Uint8Array(COUNT * 8);
  for (let row = 0; row < COUNT; row++) payload.set(fill(row), row * 8);
  const rows = rowsOfStream(makeStream(payload, 8));
  return runThrough(findSelectors(rows, movedMask(rows), counters));
}

const spot = ({ lsb, length, on }: SelectorFinding): string =>
  `${lsb.byte * 8 + lsb.bit}+${length}${on.length > 0 ? ` on ${on[0]?.values.join()}` : ''}`;

const counter = (bit: number, length: number, max: number): CounterBits => ({
  lsb: { byte: bit >> 3, bit: bit & 7 },
  length,
  order: 'little',
  min: 0,
  max,
});

describe('a selector among what tells the same', () => {
  it('is the number that names all pages, though two sets of them hold alike and a bit tells the sets', () => {
    const walks = [walkOf('set a', 0, 60000), walkOf('set b', 0, 60000)];
    const found = selectorsOf((row) => {
      const page = row % 4;
      const value = (walks[page >> 1] as Float64Array)[row] as number;
      return [page << 4, page >> 1 ? 0x53 : 0xa4, page >> 1, value & 255, value >> 8, 0, 0, 0];
    });
    expect(found.map(spot)).toEqual(['4+2']);
  });

  it('is the whole number of a page, not the part of it that comes first, though its values are no run', () => {
    const pages = [0x01, 0x11, 0x03, 0x04];
    const walks = [walkOf('part a', 0, 60000), walkOf('part b', 0, 60000)];
    const found = selectorsOf((row) => {
      const set = row % 4 < 2 ? 0 : 1;
      const value = (walks[set] as Float64Array)[row] as number;
      return [pages[row % 4] as number, set ? 7 : 0x90, 0, value & 255, value >> 8, set ? 0x61 : 3, 0, 0];
    });
    expect(found.map(spot)).toEqual(['0+5']);
  });

  it('is without a state beside it that comes for a while now and then', () => {
    const walks = Array.from({ length: 4 }, (_, page) => walkOf(`held ${page}`, 0, 60000));
    const found = selectorsOf((row) => {
      const page = row % 4;
      const value = (walks[page] as Float64Array)[row] as number;
      const state = Math.floor(row / 25) % 2;
      return [page | (state << 2), 17 * page, 0, value & 255, value >> 8, 0x53 >> page, 0, 0];
    });
    expect(found.map(spot)).toEqual(['0+2']);
  });

  it('is a plain count of few values where the other bits depend on it', () => {
    const walks = Array.from({ length: 7 }, (_, page) => walkOf(`count ${page}`, 900 * page, 9000 * page + 900));
    const found = selectorsOf(
      (row) => {
        const value = (walks[row % 7] as Float64Array)[row] as number;
        return [(row % 7) << 5, 0, value & 255, value >> 8, 0, 0, 0, 0];
      },
      [counter(5, 3, 6)],
    );
    expect(found.map(spot)).toEqual(['5+3']);
  });

  it('is the page and not the counter in its byte that goes in step with it', () => {
    const walks = [walkOf('step a', 0, 30000), walkOf('step b', 20000, 60000)];
    const found = selectorsOf(
      (row) => {
        const value = (walks[row % 2] as Float64Array)[row] as number;
        return [(row % 4) | ((row % 2) << 4), 0, value & 255, value >> 8, row % 2 ? 0x3c : 0xc0, 0, 0, 0];
      },
      [counter(0, 2, 3)],
    );
    expect(found.map(spot)).toEqual(['4+1']);
  });
});

describe('a selector among counters and codes', () => {
  it('is a counter of eight values where nothing else names the pages', () => {
    const walks = Array.from({ length: 8 }, (_, page) =>
      walkOf(`eight ${page}`, 6000 * (page % 3), 6000 * (page % 3) + 300),
    );
    const others = Array.from({ length: 8 }, (_, page) =>
      walkOf(`other ${page}`, 3000 * ((page >> 1) % 3), 3000 * ((page >> 1) % 3) + 200),
    );
    const found = selectorsOf(
      (row) => {
        const [value, other] = [walks, others].map((each) => (each[row % 8] as Float64Array)[row] as number);
        return [row % 8, 0, value! & 255, value! >> 8, other! & 255, other! >> 8, 0, 0];
      },
      [counter(0, 3, 7)],
    );
    expect(found.map(spot)).toEqual(['0+3']);
  });

  it('is named where it first stands, though codes further on hold it again', () => {
    const walks = Array.from({ length: 4 }, (_, page) => walkOf(`code ${page}`, 9000 * page, 9000 * page + 300));
    const found = selectorsOf((row) => {
      const inner = row % 2 === 0 ? (row >> 1) % 3 : 3;
      const value = (walks[inner] as Float64Array)[row] as number;
      return [2 - (row % 2), row % 2 === 0 ? inner << 4 : 0x80, value & 255, value >> 8, 7 * inner, 0, 0, 0];
    });
    expect(found.map(spot)).toEqual(['0+2', '12+2 on 2']);
  });
});

describe('a selector within a page', () => {
  /** Pages 0 to 2, the first with two of its own; a counter of four values goes on over all of them. */
  const nested =
    (inner: (visit: number) => number) =>
    (row: number): readonly number[] => {
      const page = row % 3;
      const within = page === 0 ? inner(Math.floor(row / 3)) : 0;
      const value = (nestedWalks[page === 0 ? within : page + 1] as Float64Array)[row] as number;
      return [row & 3, page | (within << 4), value & 255, value >> 8, page === 0 ? 17 * within : 9 * page, 0, 0, 0];
    };
  const nestedWalks = Array.from({ length: 4 }, (_, page) =>
    walkOf(`within ${page}`, 15000 * page, 15000 * page + 300),
  );

  it('is found with two values, and is not the counter that goes on over all pages', () => {
    const found = selectorsOf(
      nested((visit) => visit % 2),
      [counter(0, 2, 3)],
    );
    expect(found.map(spot)).toEqual(['8+2', '12+1 on 0']);
  });

  it('is found nowhere where each page has but one layout', () => {
    const found = selectorsOf(
      nested(() => 0),
      [counter(0, 2, 3)],
    );
    expect(found.map(spot)).toEqual(['8+2']);
  });
});

describe('turns', () => {
  const values = (at: (row: number) => number): Uint8Array => Uint8Array.from({ length: 800 }, (_, row) => at(row));

  it('are in turn where each value has its one follower and all come all the time', () => {
    expect(turnsOf(values((row) => row % 5))).toMatchObject({ values: [0, 1, 2, 3, 4], listed: true, inTurn: true });
    const favourites = [0, 1, 0, 2, 0, 3];
    expect(turnsOf(values((row) => favourites[row % 6] as number))).toMatchObject({ listed: true, inTurn: false });
    const late = turnsOf(values((row) => (row < 400 ? row % 2 : row % 4)));
    expect(late).toMatchObject({ values: [0, 1, 2, 3], inTurn: false });
  });

  it('cost nothing to foretell where they go by a list, and log2 n a row where they are drawn', () => {
    const random = createRandom('turns');
    expect(
      turnBits(
        values((row) => row % 4),
        4,
      ),
    ).toBeLessThan(10);
    const drawn = turnBits(
      values(() => random.below(4)),
      4,
    );
    expect(drawn / 400).toBeGreaterThan(1.9);
    expect(drawn / 400).toBeLessThan(2.2);
  });
});
