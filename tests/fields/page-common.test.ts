import { describe, expect, it } from 'vitest';
import { commonSpans } from '../../src/fields/page-common.ts';
import { price } from '../../src/fields/page-prices.ts';
import { chainRows, rowsOfStream, type PayloadRows } from '../../src/fields/payload-rows.ts';
import type { Span } from '../../src/fields/segment.ts';
import { runThrough } from '../../src/fields/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk } from './support/streams.ts';

const COUNT = 2000;
const PAGES = 4;
const OPTIONS = { decisions: [], orderBits: { little: 0, big: 0 } };
const UNJUDGED = { margin: 0, orderMargin: 0, rival: 'left', touching: 0 } as const;
const COST = { bits: 0, moves: COUNT, model: 'walk' } as unknown as Span['cost'];
const spanAt = (byte: number, length: number): Span => ({
  lsb: { byte, bit: 0 },
  length,
  order: 'little',
  cost: COST,
  ...UNJUDGED,
});

/** [pages] the rows of each by itself. */
const pagesOf = (rows: PayloadRows): PayloadRows[] =>
  Array.from({ length: PAGES }, (_, page) =>
    chainRows(
      rows,
      Array.from({ length: COUNT / PAGES }, (__, at) => at * PAGES + page),
    ),
  );

/** A value in byte 1 and the lowest bit of byte 2, which turns seldom; onPage: the spans that each page by itself holds. */
function sharedBy(onPage: readonly Span[]): string[] {
  const payload = new Uint8Array(COUNT * 3);
  const walk = physicalWalk(createRandom('shared'), COUNT, 20, 400);
  for (let row = 0; row < COUNT; row++) {
    payload[row * 3 + 1] = (walk[row] as number) & 255;
    payload[row * 3 + 2] = (walk[row] as number) >> 8;
  }
  const rows = rowsOfStream(makeStream(payload, 3));
  const open = Uint8Array.of(0, 0xff, 0xff);
  const inTurn = runThrough(price(rows, open, open));
  const leafOf = Int32Array.from({ length: COUNT }, (_, row) => row % PAGES);
  const prices = new Float64Array(24).fill(2 * COUNT);
  const single = { rows: pagesOf(rows), spans: new Array<readonly Span[]>(PAGES).fill(onPage) };
  const spans = commonSpans(inTurn, leafOf, prices, single, OPTIONS);
  return spans.map(({ lsb, length }) => `${lsb.byte}.${lsb.bit}+${length}`);
}

describe('values that stand on all pages', () => {
  it('says the whole value where the pages hold it as such', () => {
    expect(sharedBy([spanAt(1, 9)])).toEqual(['1.0+9']);
  });

  it('says what stands on all pages though the cheapest span joins it to but a part of what they hold', () => {
    expect(sharedBy([spanAt(1, 8), spanAt(2, 16)])).toEqual(['1.0+8']);
  });

  it('says nothing of what is a part on every page', () => {
    expect(sharedBy([spanAt(0, 32)])).toEqual([]);
  });
});

/** Cells in byte 1, each page with its own, near 256, so that the bit above tells which cells have gone past it; or that bit is a switch. */
function aboveCells(isSwitch: boolean): string[] {
  const random = createRandom('above cells');
  const pack = physicalWalk(random, COUNT, 226, 286);
  const payload = new Uint8Array(COUNT * 3);
  for (let row = 0; row < COUNT; row++) {
    const cell = (pack[row] as number) + (row % PAGES);
    payload[row * 3 + 1] = cell & 255;
    payload[row * 3 + 2] = isSwitch ? (row >> 6) & 1 : cell >> 8;
  }
  const rows = rowsOfStream(makeStream(payload, 3));
  const open = Uint8Array.of(0, 0xff, 0xff);
  const inTurn = runThrough(price(rows, open, open));
  const leafOf = Int32Array.from({ length: COUNT }, (_, row) => row % PAGES);
  const prices = Float64Array.from({ length: 24 }, (_, at) => (at >= 16 ? 2 * COUNT : 1));
  const single = { rows: pagesOf(rows), spans: new Array<readonly Span[]>(PAGES).fill([spanAt(1, 8)]) };
  return commonSpans(inTurn, leafOf, prices, single, OPTIONS).map(
    ({ lsb, length }) => `${lsb.byte}.${lsb.bit}+${length}`,
  );
}

describe('what lies above numbers on the pages', () => {
  it('is their top where it steps by their carries', () => {
    expect(aboveCells(false)).toEqual([]);
  });

  it('stands on all pages where it goes by itself', () => {
    expect(aboveCells(true)).toEqual(['2.0+1']);
  });
});
