/** The number of a frame's pages, told from a frame's counter by what comes again with it. */
import { describe, expect, it } from 'vitest';
import { isPageNumber } from '../../src/fields/beside-counter.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream } from './support/streams.ts';

const COUNT = 800;
const counter = { lsb: { byte: 0, bit: 0 }, length: 4, order: 'little', min: 0, max: 15 } as const;

/** Byte 0 counts 0 to 15; the others by row and page. */
const rowsOf = (valueOf: (row: number, byte: number) => number) =>
  rowsOfStream(
    makeStream(
      Uint8Array.from({ length: COUNT * 8 }, (_, at) => (at % 8 === 0 ? (at >> 3) % 16 : valueOf(at >> 3, at % 8))),
      8,
    ),
  );

describe('a count of 16', () => {
  it('is the number of the pages where the rest comes again with it', () => {
    const random = createRandom('pages');
    const pages = Array.from({ length: 16 * 8 }, () => random.below(256));
    const rows = rowsOf((row, byte) => (pages[(row % 16) * 8 + byte] as number) ^ (random.below(8) === 0 ? 1 : 0));
    expect(isPageNumber(rows, counter)).toBe(true);
  });

  it('is a counter where the rest goes on by itself, and where pages come again sooner', () => {
    const random = createRandom('values');
    expect(
      isPageNumber(
        rowsOf((row, byte) => Math.round(100 + 60 * Math.sin(row / (9 + byte)))),
        counter,
      ),
    ).toBe(false);
    const pages = Array.from({ length: 4 * 8 }, () => random.below(256));
    expect(
      isPageNumber(
        rowsOf((row, byte) => pages[(row % 4) * 8 + byte] as number),
        counter,
      ),
    ).toBe(false);
  });
});
