/** One kind of message has an index of its own: kind and index name its page together, and the other kinds have values where the index stands. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { selectorsIn, streamOf as rowsToStream, type Fill } from './support/selectors.ts';
import { physicalWalk } from './support/streams.ts';

const COUNT = 1000;
const pack = physicalWalk(createRandom('index pack'), COUNT, 36_000, 37_000);
const speed = physicalWalk(createRandom('index speed'), COUNT, 100, 4000);
const draws = createRandom('index cells');
const OFFSETS = Float64Array.from({ length: 32 }, () => Math.round(60 * draws.normal()));
const noise = Float64Array.from({ length: COUNT }, () => Math.round(draws.normal()));

const split = (value: number): readonly number[] => [value & 255, (value >> 8) & 255];
const cellAt = (row: number, cell: number): readonly number[] =>
  split((pack[row] as number) + (OFFSETS[cell] as number) + (noise[(row + 7 * cell) % COUNT] as number));

const streamOf = (fill: Fill) => rowsToStream(COUNT, fill);
const selectorsOf = (fill: Fill): string[] => selectorsIn(streamOf(fill), false);

/** Another kind of message: a speed from the index's byte on, and flags. */
const speedOf = (row: number): readonly number[] => {
  const value = speed[row] as number;
  return [...split(value), 0xff, value > 2000 ? 0x81 : 0x80, ...split(value >> 3), 0];
};

/** Kinds by turns; the cells of the first one are near each other, three a page, on as many pages as its index has values. */
const byTurns =
  (indexes: number) =>
  (row: number): readonly number[] => {
    if (row % 2 === 1) return [1, ...speedOf(row)];
    const index = (row >> 1) % indexes;
    return [0, index, ...cellAt(row, 3 * index), ...cellAt(row, 3 * index + 1), ...cellAt(row, 3 * index + 2)];
  };

describe('an index on the page of one kind', () => {
  it.each([3, 7])('is found where its %i pages hold cells that are near each other', (indexes) => {
    expect(selectorsOf(byTurns(indexes))).toEqual(['0+1', `8+${indexes === 3 ? 2 : 3} on 0`]);
  });

  it('tells its cells apart, which are no common values of its pages', () => {
    const { fields } = findFieldsOfStream(streamOf(byTurns(3)), {});
    const cells = fields.filter(({ when, length }) => Object.keys(when ?? {}).length === 2 && length > 6);
    expect(cells.map(({ lsb }) => lsb.byte * 8 + lsb.bit).sort((a, b) => a - b)).toEqual([
      16, 16, 16, 32, 32, 32, 48, 48, 48,
    ]);
  });

  it('is none where a counter stands before one value', () => {
    const found = selectorsOf((row) => {
      if (row % 2 === 1) return [1, ...speedOf(row)];
      return [0, (row >> 1) & 15, ...cellAt(row, 0), ...cellAt(row, 1), ...cellAt(row, 2)];
    });
    expect(found).toEqual(['0+1']);
  });

  it('is found with its kind where content behind them tells kind and index at once', () => {
    const turn = [38, 38, 38, 38, 47, 38, 142, 38, 207];
    const indexes = [0, 0, 0, 0, 0, 1, 0, 2, 0];
    const found = selectorsOf((row) => {
      const at = row % turn.length;
      const kind = turn[at] as number;
      if (kind !== 38)
        return [
          kind,
          ...[at, ...speedOf(row)].slice(at >> 2, (at >> 2) + 3),
          0x11 * (at - 3),
          at < 6 ? row & 0x70 : 0xff,
          0x10 * at,
          0xff,
        ];
      const index = indexes[at] as number;
      const temperature = (cell: number): number =>
        0x24 + ((OFFSETS[cell] as number) & 7) + ((noise[row] as number) & 1);
      const warm = Array.from({ length: 6 }, (_, cell) => temperature(6 * index + cell));
      return [kind, (index << 4) | 0xf, ...warm];
    });
    expect(found).toEqual(['0+8', '12+2 on 38']);
  });
});
