import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { selectorsIn, streamOf as rowsToStream, type Fill } from './support/selectors.ts';
import { physicalWalk } from './support/streams.ts';

const COUNT = 3000;
const MODULES = [1, 2, 3];
const GROUPS = [0, 16, 32, 48];
const pack = physicalWalk(createRandom('pack'), COUNT, 33_000, 39_000);
const sag = createRandom('cells');
const CELLS = Float64Array.from({ length: 24 }, () => Math.round(150 * sag.normal()));

/** Two cells of 16 bits on each page, near each other as those of a pack are. */
function cellsOf(row: number, page: number): readonly number[] {
  const [one, other] = [0, 1].map((at) => (pack[row] as number) + (CELLS[2 * page + at] as number)) as [number, number];
  return [one & 255, one >> 8, other & 255, other >> 8];
}

const streamOf = (fill: Fill) => rowsToStream(COUNT, fill);
const selectorsOf = (fill: Fill): string[] => selectorsIn(streamOf(fill), true);

const digits = (row: number): readonly [number, number] => [Math.floor(row / 4) % 3, row % 4];

describe('two numbers that name a page together', () => {
  it('are found where each page has cells of its own', () => {
    const found = selectorsOf((row) => {
      const [module, group] = digits(row);
      return [MODULES[module] as number, GROUPS[group] as number, ...cellsOf(row, 4 * module + group), 0, 0];
    });
    expect(found).toEqual(['0+2', '12+2 on 1,2,3']);
  });

  it('are said as two selectors of all frames, and cells as of a value of each', () => {
    const { selectors, fields } = findFieldsOfStream(
      streamOf((row) => {
        const [module, group] = digits(row);
        return [MODULES[module] as number, GROUPS[group] as number, ...cellsOf(row, 4 * module + group), 0, 0];
      }),
      {},
    );
    expect(selectors.map(({ when }) => when ?? null)).toEqual([null, null]);
    const names = selectors.map(({ name }) => name);
    const cells = fields.filter(({ length }) => length > 8);
    expect(cells.length).toBe(24);
    for (const { when } of cells) expect(Object.keys(when ?? {})).toEqual(names);
  });

  it('are two where their moving bits meet at the border of two bytes', () => {
    const found = selectorsOf((row) => {
      const [module, group] = [Math.floor(row / 3) % 4, row % 3];
      return [module << 6, group, ...cellsOf(row, 3 * module + group), 0, 0];
    });
    expect(found).toEqual(['6+2', '8+2 on 0,1,2,3']);
  });

  it('are one where the second tells nothing more: each group is the same in every module', () => {
    const found = selectorsOf((row) => {
      const [module, group] = digits(row);
      return [MODULES[module] as number, GROUPS[group] as number, ...cellsOf(row, group), 0, 0];
    });
    expect(found).toEqual(['12+2']);
  });
});
