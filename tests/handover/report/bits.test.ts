/** Bit layouts of frames: which cells are whose, read from the data and from the draw list; pages; folding; places by hand from the contract's rule. */
import { describe, expect, it } from 'vitest';
import { bitLayouts, type BitLayout } from '../../../src/handover/report/pictures/bits-layout.ts';
import { bitsSize } from '../../../src/handover/report/pictures/bits-grid.ts';
import { bitsScene } from '../../../src/handover/report/pictures/bits-scene.ts';
import { claimsOf } from '../../../src/handover/report/pictures/claims.ts';
import {
  numberRuns,
  pageLayouts,
  pagesWords,
  runsOfNumbers,
} from '../../../src/handover/report/pictures/page-layouts.ts';
import { INK_NAMES } from '../../../src/handover/report/pictures/svg-surface.ts';
import { bitsTable } from '../../../src/handover/report/sections/frame-bits.ts';
import { recordingSurface } from '../../../src/kit/drawing/recording-surface.ts';
import type { MapFrame } from '../../../src/map/schema.ts';
import { aChecksum, aFrame, aSelector, aSignal } from '../../support/map-parts.ts';
import { cells, status } from './maps.ts';

const rowsOf = (frame: MapFrame): string[] =>
  bitsTable(frame, claimsOf(frame)).rows.map((row) => (row as string[]).map((cell) => cell || '.').join(' '));

describe('bits of a frame', () => {
  it('stand a row a byte, bit 7 on the left, big-endian and little-endian fields over byte borders', () => {
    // 16 bits big-endian from byte 1 bit 0 fill bytes 0 and 1; 12 bits little-endian from byte 4 bit 4 fill 4.7..4 and 5.7..0.
    expect(rowsOf(status)).toEqual([
      'b0 1 1 1 1 1 1 1 1',
      'b1 1 1 1 1 1 1 1 1',
      'b2 idle idle idle idle idle 2 2 2',
      'b3 still still still still still still still still',
      'b4 3 3 3 3 . . . .',
      'b5 3 3 3 3 3 3 3 3',
      'b6 . . . . 4 4 4 4',
      'b7 5 5 5 5 5 5 5 5',
    ]);
  });

  it('have an arrow from the least to the most significant bit where a field goes over bytes', () => {
    const [layout] = bitLayouts(status, claimsOf(status)) as [BitLayout];
    expect(layout.arrows.map(({ runs }) => runs)).toEqual([
      [
        { row: 1, lowBit: 0, highBit: 7 },
        { row: 0, lowBit: 0, highBit: 7 },
      ],
      [
        { row: 4, lowBit: 4, highBit: 7 },
        { row: 5, lowBit: 0, highBit: 7 },
      ],
    ]);
  });

  it('show the value of bits that never moved, and name a field once', () => {
    const [layout] = bitLayouts(status, claimsOf(status)) as [BitLayout];
    const { surface, drawn } = recordingSurface(bitsSize(layout).width, bitsSize(layout).height);
    bitsScene(layout)(surface, INK_NAMES);
    const texts = drawn.filter(({ what }) => what === 'text').map((call) => call.with[2]);
    expect(texts.filter((text) => text === '0x3C')).toHaveLength(1);
    expect(texts.filter((text) => text === 'shaft_speed')).toHaveLength(1);
    // Nothing is drawn outside of the picture.
    const points = drawn.filter(({ what }) => what === 'polyline').flatMap((call) => [...(call.with[0] as number[])]);
    const [xs, ys] = [0, 1].map((odd) => points.filter((value, index) => index % 2 === odd && !Number.isNaN(value)));
    expect(Math.min(...(xs as number[]), ...(ys as number[]))).toBeGreaterThanOrEqual(0);
    expect(Math.max(...(xs as number[]))).toBeLessThanOrEqual(surface.width);
    expect(Math.max(...(ys as number[]))).toBeLessThanOrEqual(surface.height);
  });

  it('that two fields claim name both', () => {
    const frame = aFrame({
      signals: [aSignal({ lsb: { byte: 0, bit: 0 }, length: 8 }), aSignal({ lsb: { byte: 0, bit: 4 }, length: 4 })],
    });
    expect(rowsOf(frame)[0]).toBe('b0 1/2 1/2 1/2 1/2 1 1 1 1');
  });

  it('of 64 bytes are folded where bytes are alike, and cut into columns of 16 rows at most', () => {
    const signals = Array.from({ length: 20 }, (_, k) => aSignal({ lsb: { byte: 2 * k, bit: 0 }, length: 8 }));
    const frame = aFrame({ length: 64, signals });
    const layouts = bitLayouts(frame, claimsOf(frame));
    const rows = layouts.flatMap((layout) => layout.rows);
    expect(rows.at(-1)).toEqual({ firstByte: 39, lastByte: 63 });
    expect(rows.reduce((sum, { firstByte, lastByte }) => sum + lastByte - firstByte + 1, 0)).toBe(64);
    expect(Math.max(...layouts.map((layout) => layout.rows.length))).toBeLessThanOrEqual(16);
    const whole = aFrame({ length: 8 });
    expect(bitLayouts(whole, [])[0]?.rows).toHaveLength(8);
  });

  it('beyond the payload are left out, as are those of no payload', () => {
    expect(rowsOf(aFrame({ length: 1, signals: [aSignal({ lsb: { byte: 0, bit: 0 }, length: 16 })] }))).toEqual([
      'b0 1 1 1 1 1 1 1 1',
    ]);
    expect(bitLayouts(aFrame({ length: 0 }), [])).toHaveLength(1);
  });
});

describe('pages', () => {
  it('that are cut alike share a drawing', () => {
    const layouts = pageLayouts(cells);
    expect(layouts.map(({ pages }) => pagesWords(pages))).toEqual(['page = 0 to 3', 'page = 6']);
    expect(layouts.map(({ claims }) => claims.map(({ name }) => name))).toEqual([
      ['page', 'cell_0'],
      ['page', 'coldest'],
    ]);
  });

  it('of pages stand as their parts, with what holds on all of the outer page', () => {
    const frame = aFrame({
      selectors: [
        aSelector({ name: 'page', lsb: { byte: 0, bit: 0 }, length: 4 }),
        aSelector({ name: 'index', lsb: { byte: 1, bit: 0 }, length: 4, when: { page: [1] } }),
      ],
      signals: [
        aSignal({ name: 'on_all_of_1', lsb: { byte: 2, bit: 0 }, length: 8, when: { page: [1] } }),
        aSignal({ name: 'on_1_0', lsb: { byte: 3, bit: 0 }, length: 8, when: { page: [1], index: [0] } }),
        aSignal({ name: 'on_1_5', lsb: { byte: 3, bit: 0 }, length: 4, when: { page: [1], index: [5] } }),
        aSignal({ name: 'on_2', lsb: { byte: 3, bit: 0 }, length: 8, when: { page: [2] } }),
      ],
    });
    const told = pageLayouts(frame).map(({ pages, claims }) => [
      pagesWords(pages),
      claims.map(({ name }) => name).join(),
    ]);
    expect(told).toEqual([
      ['page = 1 and index = 0', 'page,index,on_all_of_1,on_1_0'],
      ['page = 1 and index = 5', 'page,index,on_all_of_1,on_1_5'],
      ['page = 2', 'page,on_2'],
    ]);
  });

  it('without selectors there is one layout', () => {
    expect(
      pageLayouts(aFrame({ checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor' })] })),
    ).toHaveLength(1);
  });

  it('are written as runs', () => {
    expect(runsOfNumbers([3, 1, 2, 7, 9, 10])).toBe('1 to 3, 7, 9, 10');
    expect(numberRuns([])).toEqual([]);
  });
});
