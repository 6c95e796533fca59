/** Modules that now and then have nothing to say: their cells read zero for a while, and any bit of a cell tells that. */
import { describe, expect, it } from 'vitest';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { turnsOf } from '../../src/fields/page-turns.ts';
import { lookAt } from '../../src/fields/selector-weigh.ts';
import { createRandom } from '../../src/kit/random.ts';
import { selectorsIn, streamOf, type Fill } from './support/selectors.ts';
import { physicalWalk } from './support/streams.ts';

const COUNT = 4000;
const draws = createRandom('modules now and then silent');
const pack = physicalWalk(draws, COUNT, 3540, 3560);
const OFFSETS = Float64Array.from({ length: 64 }, () => Math.round(20 * draws.normal()));
const noise = Float64Array.from({ length: COUNT }, () => Math.round(draws.normal()));
/** [rounds of a module] whether it is silent: a few rounds in ten. */
const SILENT = Uint8Array.from({ length: COUNT }, () => Number(draws.next() < 0.1));

/** Most significant byte first. */
const cellAt = (row: number, cell: number): readonly number[] => {
  const value = (pack[row] as number) + (OFFSETS[cell] as number) + (noise[(row + 7 * cell) % COUNT] as number);
  return [value >> 8, value & 255];
};
const cellsAt = (row: number, module: number, isSilent: boolean): readonly number[] =>
  [0, 1, 2].flatMap((cell) => (isSilent ? [0, 0] : cellAt(row, 3 * module + cell)));

const selectorsOf = (fill: Fill): string[] => selectorsIn(streamOf(COUNT, fill), false);

describe('modules that are silent now and then', () => {
  it('have an index on the page of a kind that is held while it runs through them', () => {
    const found = selectorsOf((row) => {
      const [round, at] = [Math.floor(row / 26), row % 26];
      const flags = (round >> 3) & 3;
      if (at >= 23) return [0xb1, 0x80 | (flags << 4), 0, 90 + (round & 7), 0x10 | (flags << 1), 0, 0, 0];
      if (at >= 20) return [0x40, 0x80 | (((round >> 4) & 1) << 6), 0, 0, 0, 0, 0, 0];
      const module = at >> 1;
      return [0x23, module << 4, ...cellsAt(row, module, SILENT[10 * round + module] === 1)];
    });
    expect(found).toEqual(['0+8', '12+4 on 35']);
  });
});

describe('what lies over the border of two bytes', () => {
  /** An index in the upper half of the first byte; set: the lowest bit of what stands behind it. */
  const lookedAt = (set: (row: number) => number) => {
    const rows = rowsOfStream(streamOf(COUNT, (row) => [(row & 15) << 4, set(row), 7 * (row & 15), 0, 0, 0, 0, 0]));
    const open = new Uint8Array(8).fill(255);
    const beside = { counters: [], plain: new Float64Array(8), all: 1, unlistedShare: 0.2, within: false };
    const piece = { lsb: { byte: 0, bit: 4 }, length: 5, order: 'little' } as const;
    return lookAt({ rows, open, ...beside, isGuarded: false }, piece);
  };

  it('is no number of pages where a cell that is silent now and then begins behind the border', () => {
    expect(lookedAt((row) => SILENT[row] as number)).toBeNull();
    expect(lookedAt((row) => SILENT[row >> 4] as number)).toBeNull();
  });

  it('is one where it counts over the border', () => {
    expect(lookedAt((row) => (row >> 4) & 1)).not.toBeNull();
  });
});

describe('turns that hold', () => {
  const heldBy = (holds: (round: number, kind: number) => number): Uint8Array => {
    const values: number[] = [];
    for (let round = 0; values.length < COUNT; round++)
      for (const kind of [0, 1, 2]) values.push(...new Array<number>(holds(round, kind)).fill(kind + 3));
    return Uint8Array.from(values.slice(0, COUNT));
  };

  it('are those of a kind where each is held for a number of rows of its own', () => {
    expect(turnsOf(heldBy((_, kind) => (kind === 0 ? 30 : 3)))?.inTurn).toBe(true);
  });

  it('are a slow counter where all are held equally long, and states where as long as they please', () => {
    expect(turnsOf(heldBy(() => 12))).toBeNull();
    const random = createRandom('held as long as they please');
    expect(turnsOf(heldBy(() => 3 + random.below(30)))).toBeNull();
  });
});
