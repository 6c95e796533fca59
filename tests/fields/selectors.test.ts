import { describe, expect, it } from 'vitest';
import { UNBIASED } from '../../src/fields/divide.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { turnBits } from '../../src/fields/page-turn-bits.ts';
import { turnsOf } from '../../src/fields/page-turns.ts';
import type { CounterBits } from '../../src/fields/selector-candidates.ts';
import type { SelectorFinding } from '../../src/fields/selector-finding.ts';
import { findSelectors } from '../../src/fields/selectors.ts';
import { runThrough } from '../../src/fields/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk } from './support/streams.ts';

const COUNT = 4000;
const WHOLE = { usable: new Uint8Array(8).fill(255), options: { decisions: [], orderBits: UNBIASED } };
const walkOf = (name: string, low: number, high: number): Float64Array =>
  physicalWalk(createRandom(name), COUNT, low, high);

/** fill: what the payload of each row holds. */
function selectorsOf(
  fill: (row: number) => readonly number[],
  counters: readonly CounterBits[] = [],
  isGuarded = false,
): SelectorFinding[] {
  const payload = new Uint8Array(COUNT * 8);
  for (let row = 0; row < COUNT; row++) payload.set(fill(row), row * 8);
  const rows = rowsOfStream(makeStream(payload, 8));
  return runThrough(findSelectors(rows, movedMask(rows), counters, isGuarded, WHOLE));
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
  it('is the number of three pages, of which the first comes every other time, and not what goes with that', () => {
    const walks = ['one', 'two', 'six', 'beside'].map((name) => walkOf(`rivals ${name}`, 0, 255));
    const order = [2, 1, 2, 6];
    const found = selectorsOf((row) => {
      const page = order[row % 4] as number;
      const own = { 1: walks[0], 2: walks[1], 6: walks[2] }[page]?.[row] as number;
      const beside = page === 6 ? 40 : page === 1 ? 200 - (walks[3]?.[row] as number) / 2 : 90;
      return [page, own, beside, (page === 2 ? 2 : 1) << 2, 0, 0, 0, 0];
    });
    expect(found.map(spot)).toEqual(['0+3']);
  });

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

  it('is the page that comes first and not the counter behind it that goes in step with it', () => {
    const walks = [walkOf('first a', 0, 30000), walkOf('first b', 20000, 60000)];
    const found = selectorsOf(
      (row) => {
        const value = (walks[row % 2] as Float64Array)[row] as number;
        return [row % 2, 0, value & 255, value >> 8, row % 2 ? 0x3c : 0xc0, 0, row % 4, 0];
      },
      [counter(48, 2, 3)],
    );
    expect(found.map(spot)).toEqual(['0+1']);
  });

  it('is the count of many pages and not the content that names them again without order', () => {
    const names = [17, 83, 5, 60, 41, 99, 2, 70, 33];
    const walks = names.map((_, page) => walkOf(`named again ${page}`, 5000 * page, 5000 * page + 300));
    const found = selectorsOf(
      (row) => {
        const value = (walks[row % 9] as Float64Array)[row] as number;
        return [row % 9, names[row % 9] as number, value & 255, value >> 8, 0, 0, 0, 0];
      },
      [counter(0, 4, 8)],
    );
    expect(found.map(spot)).toEqual(['0+4']);
  });
});

describe('two numbers in front that name the page together', () => {
  // Five frames in turn: page 1, the pages 0 to 2 of page 2, page 5; a byte of high content differs among all five.
  const HEADS = [
    [1, 0],
    [2, 0],
    [2, 1],
    [2, 2],
    [5, 0],
  ] as const;
  const CONTENT = [0xfe, 0x81, 0x7c, 0x12, 0x61];
  const walks = HEADS.map((_, at) => walkOf(`header ${at}`, 0, 4000));
  const drift = walkOf('header drift', 0, 6);
  const framesOf = (headOf: (at: number) => readonly [number, number]) =>
    selectorsOf((row) => {
      const at = row % 5;
      const [page, within] = headOf(at);
      const value = (walks[at] as Float64Array)[row] as number;
      return [page, within, (CONTENT[at] as number) + (drift[row] as number), value & 255, value >> 8, 0, 0, 0];
    });

  it('are the selector and one within its page, though content behind them tells all pages apart by itself', () => {
    expect(framesOf((at) => HEADS[at] as readonly [number, number]).map(spot)).toEqual(['0+3', '8+2 on 2']);
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

describe('codes without order', () => {
  const walks = Array.from({ length: 6 }, (_, page) => walkOf(`drawn ${page}`, 9000 * page, 9000 * page + 300));
  const codesOf =
    (turns: readonly number[]) =>
    (row: number): readonly number[] => {
      const code = turns[row % turns.length] as number;
      const page = [...new Set(turns)].indexOf(code);
      const value = (walks[page] as Float64Array)[row] as number;
      return [code, 0, value & 255, value >> 8, [7, 90, 33, 201, 64, 128][page] as number, 0, 0, 0];
    };

  it('are one selector where cutting them makes two of it, each on a page of the low bits', () => {
    const drawn = [1, 2, 3, 7, 0, 4, 7, 2, 4, 0, 2, 4, 3, 2, 7, 1, 0, 4];
    expect(selectorsOf(codesOf(drawn)).map(spot)).toEqual(['0+3']);
  });

  it('are taken whole where they are sent in turn, though two of their bits happen to run from 0 to 3', () => {
    expect(selectorsOf(codesOf([0, 5, 3, 6])).map(spot)).toEqual(['0+3']);
  });

  it('are all bits of the list, though the page of one of them is much like another', () => {
    const drawn = [3, 4, 2, 1, 3, 0, 1, 3, 1, 2, 0, 4, 1, 1, 4];
    const found = selectorsOf((row) => {
      const code = drawn[row % drawn.length] as number;
      const value = (walks[code & 3] as Float64Array)[row] as number;
      return [code, 0, value & 255, value >> 8, [7, 90, 33, 201][code & 3] as number, code >> 2, 0, 0];
    });
    expect(found.map(spot)).toEqual(['0+3']);
  });

  it('are a selector and one on its second page where bits that never move lie between the two', () => {
    expect(selectorsOf(codesOf([0, 1, 17, 33])).map(spot)).toEqual(['0+1', '4+2 on 1']);
  });

  it('are one selector where the one that comes every other time has a bit of its own', () => {
    expect(selectorsOf(codesOf([9, 8, 9, 1, 9, 14, 9, 5, 9, 6])).map(spot)).toEqual(['0+4']);
  });
});

describe('a selector that the bytes one by one do not show', () => {
  const pack = walkOf('cells rise together', 2000, 2400);
  const noise = createRandom('of each cell its own');
  /** Three cells of 12 bits after a page number of 5 bits, none in a byte by itself. */
  const cells =
    (bias: (cell: number) => number, pages = 24) =>
    (row: number): readonly number[] => {
      const page = row % pages;
      const [a, b, c] = [0, 1, 2].map((cell) =>
        Math.round((pack[row] as number) + bias(3 * page + cell) + 3 * noise.next()),
      ) as [number, number, number];
      const low = (page | (a << 5) | (b << 17)) >>> 0;
      const high = c & 0xfff;
      return [low & 255, (low >> 8) & 255, (low >> 16) & 255, low >>> 24, high & 255, high >> 8, 0, 0];
    };

  it('names cells that rise and fall together, each a little off', () => {
    expect(selectorsOf(cells((cell) => ((cell * 37) % 97) / 12)).map(spot)).toEqual(['0+5']);
  });

  it('may run as a counter does beside another counter, where the rule of the guard is known', () => {
    const off = cells((cell) => ((cell * 37) % 97) / 24, 32);
    const fill = (row: number): readonly number[] => [...off(row).slice(0, 6), ((row % 10) << 4) | 3, 0];
    expect(selectorsOf(fill, [counter(52, 4, 9)], true).map(spot)).toEqual(['0+5']);
    expect(selectorsOf(fill, [counter(52, 4, 9)]).map(spot)).toEqual([]);
  });

  it('is none where the cells are not apart from one another', () => {
    expect(selectorsOf(cells(() => 0)).map(spot)).toEqual([]);
  });

  it('decides on one more byte and the rest of its own where the rule of the guard is known, by which alone a byte is no tag', () => {
    const walks = Array.from({ length: 6 }, (_, page) => walkOf(`beside ${page}`, 30 * page, 30 * page + 9));
    const fill = (row: number): readonly number[] => {
      const page = [0, 1, 0, 2, 0, 3, 4, 0, 5][row % 9] as number;
      const flags = ((page * 11) ^ Number(row % 700 < 350 && page === 2)) & 31;
      return [page | (flags << 3), Math.round((walks[page] as Float64Array)[row] as number), 0, 0, 0, 0, 0, 0];
    };
    expect(selectorsOf(fill, [], true).map(spot)).toEqual(['0+3']);
    expect(selectorsOf(fill).map(spot)).toEqual([]);
  });

  it('decides on one byte that keeps its value while others move, and not on one that moves with them as a tag does', () => {
    const random = createRandom('beside what moves');
    const moving = Array.from({ length: COUNT }, () => [random.below(256), random.below(256), random.below(256)]);
    const pages = [0x3c, 0x91, 0x07, 0xea];
    const kept = (row: number): readonly number[] => [
      row % 4,
      0,
      ...(moving[row] as number[]),
      (pages[row % 4] as number) ^ Number(row > 2000),
      0,
      0,
    ];
    expect(selectorsOf(kept).map(spot)).toEqual(['0+2']);
    const tagged = (row: number): readonly number[] => {
      const level = Math.floor(row / 40) & 255;
      return [row % 4, 0, level, 0, 0, (pages[row % 4] as number) ^ ((level * 29) & 255), 0, 0];
    };
    expect(selectorsOf(tagged).map(spot)).toEqual([]);
  });
});

describe('a selector and what is in turn', () => {
  it('is the outer one, though the values of the inner one and its filling beside it are a run', () => {
    const outer = [walkOf('first', 0, 60000), walkOf('second', 0, 60000)];
    const inner = [0, 1, 2].map((page) => walkOf(`run ${page}`, 9000 * page, 9000 * page + 300));
    const found = selectorsOf((row) => {
      const within = row % 2 === 0 ? (row >> 1) % 3 : 3;
      const value = (outer[row % 2] as Float64Array)[row] as number;
      const other = within === 3 ? 0xffff : ((inner[within] as Float64Array)[row] as number);
      return [1 + (row % 2), within << 4, value & 255, value >> 8, other & 255, other >> 8, within === 3 ? 0xff : 0, 0];
    });
    expect(found.map(spot)).toEqual(['0+2', '12+2 on 1']);
  });

  it('is one list with an odd number in it, and not two', () => {
    const pages = [0, 1, 2, 3, 4, 5, 0x60];
    const walks = pages.map((_, page) => walkOf(`odd ${page}`, 9000 * page, 9000 * page + 300));
    const found = selectorsOf((row) => {
      const value = (walks[row % 7] as Float64Array)[row] as number;
      return [pages[row % 7] as number, 0, value & 255, value >> 8, 29 * (row % 7), 0, 0, 0];
    });
    expect(found.map(spot)).toEqual(['0+7']);
  });

  it.each([61, 0])(
    'is all that counts the pages beside a counter, though pages next to each other are of one layout (%i)',
    (mark) => {
      const random = createRandom('beside pages');
      const walks = [0, 1, 2, 3].map((page) => walkOf(`pair ${page}`, 9000 * page, 9000 * page + 300));
      const found = selectorsOf(
        (row) => {
          const page = row % 8;
          const value = (walks[page >> 1] as Float64Array)[row] as number;
          return [
            (row % 16) << 4,
            (page << 5) | (mark === 0 ? random.below(32) : 0),
            value & 255,
            value >> 8,
            mark * (page >> 1),
            0,
            0,
            0,
          ];
        },
        [counter(4, 4, 15)],
      );
      expect(found.map(spot)).toEqual(['13+3']);
    },
  );
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
    const eitherWay = [0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 10];
    expect(turnsOf(values((row) => eitherWay[row % 21] as number))).toMatchObject({ listed: true, inTurn: false });
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
