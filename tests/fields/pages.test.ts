import { describe, expect, it } from 'vitest';
import { UNBIASED } from '../../src/fields/divide.ts';
import { findFields, findFieldsOfStream } from '../../src/fields/find.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { findSelectors } from '../../src/fields/selectors.ts';
import { runThrough } from '../../src/fields/steps.ts';
import { toMapFrame } from '../../src/fields/to-map-frame.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { Cancelled } from '../../src/kit/control.ts';
import { createRandom } from '../../src/kit/random.ts';
import { frameSchema } from '../../src/map/schema.ts';
import { drawFrame, makeStream, physicalWalk, placeKey, writeColumn } from './support/streams.ts';

const place = (byte: number, length: number, order: 'little' | 'big'): Placement => ({
  lsb: { byte, bit: 0 },
  length,
  order,
});

/** Pages one after the other, or as drawn; each holds a walk of its own. */
function pagedStream(
  pages: number,
  count: number,
  need?: ReturnType<typeof createRandom>,
): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(count * 8);
  const turns = Float64Array.from({ length: count }, (_, row) => (need ? need.below(pages) : row % pages));
  writeColumn(payload, 8, place(0, 8, 'little'), turns);
  for (let page = 0; page < pages; page++) {
    const walk = physicalWalk(createRandom(`page ${page}`), count, 9000 * page, 9000 * page + 8000);
    for (let row = 0; row < count; row++) {
      if (turns[row] !== page) continue;
      payload[row * 8 + 2] = (walk[row] as number) >> 8;
      payload[row * 8 + 3] = (walk[row] as number) & 255;
    }
  }
  return makeStream(payload, 8);
}

/** Four pages, the last with three of its own; values in bytes 2 to 5, and one on all pages in byte 7. */
function nestedStream(count: number): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(count * 8);
  const common = physicalWalk(createRandom('common'), count, 0, 250);
  const walks = Array.from({ length: 12 }, (_, index) =>
    physicalWalk(createRandom(`nested ${index}`), count, 2000 * index, 2000 * index + 40000),
  );
  for (let row = 0; row < count; row++) {
    const page = row % 6;
    const [outer, inner] = page < 3 ? [page, 0] : [3, page - 3];
    payload[row * 8] = outer | (inner << 4);
    payload[row * 8 + 7] = common[row] as number;
    for (const pair of [0, 1]) {
      const value = (walks[page * 2 + pair] as Float64Array)[row] as number;
      payload[row * 8 + 2 + pair * 2] = value & 255;
      payload[row * 8 + 3 + pair * 2] = value >> 8;
    }
  }
  return makeStream(payload, 8);
}

/** Two lively cells a page that rise and fall together, each with a small offset of its own, on as many pages as a counter has values. */
function cellsOnManyPages(pages: number, count: number): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(count * 8);
  const random = createRandom('cells');
  const offsets = Array.from({ length: 2 * pages }, () => random.below(7));
  const pack = physicalWalk(random, count, 60, 180);
  for (let row = 0; row < count; row++) {
    payload[row * 8 + 1] = row % pages;
    for (const cell of [0, 1]) {
      const own = offsets[2 * (row % pages) + cell] as number;
      payload[row * 8 + 3 + 2 * cell] = (pack[row] as number) + own + random.below(9);
    }
  }
  return makeStream(payload, 8);
}

describe('pages', () => {
  it('finds cells on as many pages as a counter has values only where no tag can be what goes by them', () => {
    const rows = rowsOfStream(cellsOnManyPages(32, 2400));
    const whole = { usable: new Uint8Array(8).fill(255), options: { decisions: [], orderBits: UNBIASED } };
    const found = runThrough(findSelectors(rows, movedMask(rows), [], true, whole));
    expect(found.map(placeKey)).toEqual([placeKey(place(1, 5, 'little'))]);
    expect(found[0]?.isList).toBe(true);
    expect(runThrough(findSelectors(rows, movedMask(rows), [], false, whole))).toEqual([]);
  });

  it('finds the selector and the value on each page', () => {
    const { selectors, fields } = findFieldsOfStream(pagedStream(4, 8000), {});
    expect(selectors).toHaveLength(1);
    expect(selectors[0]).toMatchObject({ lsb: { byte: 0, bit: 0 }, length: 2 });
    const name = selectors[0]?.name as string;
    for (let page = 0; page < 4; page++) {
      const own = fields.filter((field) => field.when?.[name]?.includes(page));
      expect(own.map((field) => placeKey(field as Placement))).toContainEqual(expect.stringMatching(/^3\.0\+\d+big$/));
    }
  });

  it('finds a selector within a page, and a field that lies on all pages as one', () => {
    const { selectors, fields } = findFieldsOfStream(nestedStream(9000), {});
    const [outer, inner] = selectors;
    expect(selectors.map(({ lsb, length }) => [lsb.byte * 8 + lsb.bit, length])).toEqual([
      [0, 2],
      [4, 2],
    ]);
    expect(inner?.when).toEqual({ [outer?.name as string]: [3] });
    const common = fields.filter((field) => field.when === null);
    expect(common.map((field) => placeKey(field as Placement))).toEqual(['7.0+8']);
    const within = fields.filter((field) => Object.keys(field.when ?? {}).length === 2);
    expect(new Set(within.map((field) => field.when?.[inner?.name as string]?.[0]))).toEqual(new Set([0, 1, 2]));
  });

  it('finds pages that are sent by need, in no order', () => {
    const { selectors } = findFieldsOfStream(pagedStream(5, 8000, createRandom('need')), {});
    expect(selectors.map(({ lsb, length }) => [lsb.byte * 8 + lsb.bit, length])).toEqual([[0, 3]]);
  });

  it('takes a state that changes seldom for no selector', () => {
    const payload = new Uint8Array(4000 * 8);
    const walks = [1, 2, 3].map((byte) => physicalWalk(createRandom(`held ${byte}`), 4000, 0, 250));
    for (let row = 0; row < 4000; row++) {
      const state = Math.floor(row / 40) % 3;
      payload[row * 8] = state;
      walks.forEach((walk, index) => (payload[row * 8 + 2 + index] = ((walk[row] as number) >> state) & 255));
    }
    expect(findFieldsOfStream(makeStream(payload, 8), {}).selectors).toEqual([]);
  });

  it('takes the middle of a fast timer for no selector', () => {
    const payload = new Uint8Array(5000 * 8);
    const walk = physicalWalk(createRandom('beside'), 5000, 0, 60000);
    for (let row = 0; row < 5000; row++) {
      const timer = (row * 29) & 0xffff;
      payload.set([walk[row]! & 255, walk[row]! >> 8, 0, timer & 255, timer >> 8, 0, timer & 255, timer >> 8], row * 8);
    }
    expect(findFieldsOfStream(makeStream(payload, 8), {}).selectors).toEqual([]);
  });

  it('finds turns with favourites that come round, though frames are missing', () => {
    const turns = [0, 1, 0, 2, 0, 3, 2, 0, 1, 3];
    const walks = turns.map((_, page) => physicalWalk(createRandom(`favourite ${page}`), 3000, 2000 * page, 40000));
    const payload = new Uint8Array(3000 * 8);
    let sent = 0;
    for (let row = 0; row < 3000; row++) {
      sent += row % 400 === 0 ? 7 : 1;
      const page = turns[sent % turns.length] as number;
      const value = (walks[page] as Float64Array)[row] as number;
      payload.set([page << 4, 0, value & 255, value >> 8], row * 8);
    }
    const { selectors, fields } = findFieldsOfStream(makeStream(payload, 8), {});
    expect(selectors.map(({ lsb, length }) => [lsb.byte * 8 + lsb.bit, length])).toEqual([[4, 2]]);
    expect(selectors[0]?.why).toContain('take turns');
    expect(fields.every(({ when }) => when !== null)).toBe(true);
  });

  it('takes no plain frame with a counter for a paged one', () => {
    for (let seed = 0; seed < 4; seed++)
      expect(findFieldsOfStream(drawFrame(`plain ${seed}`, 3000).stream, {}).selectors).toEqual([]);
  });
});

describe('as map frames', () => {
  it('gives names that are unique and a frame that the schema accepts', () => {
    for (const stream of [pagedStream(3, 3000), drawFrame('schema', 2000).stream]) {
      const frame = toMapFrame(findFieldsOfStream(stream, {}), { kind: 'periodic', periodMs: 10, jitterMs: 0.1 });
      expect(frameSchema.safeParse(frame).success).toBe(true);
      const names = frame.signals.map((signal) => signal.name);
      expect(new Set(names).size).toBe(names.length);
    }
  });

  it('reports progress, keeps the order of the streams and stops when told to', async () => {
    const streams = [drawFrame('a', 500).stream, { ...drawFrame('b', 500).stream, bus: 'can1' }];
    const shares: number[] = [];
    const found = await findFields(streams, {}, { onProgress: ({ share }) => shares.push(share) });
    expect(found.map((each) => each.bus)).toEqual(['can0', 'can1']);
    expect(shares).toEqual([...shares].sort((a, b) => a - b));
    expect(shares.at(-1)).toBe(1);
    await expect(findFields(streams, {}, { signal: { aborted: true } })).rejects.toThrow(Cancelled);
  });
});

describe('a long identifier', () => {
  it('lets messages in many times and can be stopped midway', async () => {
    const stream = drawFrame('long', 6000).stream;
    let pauses = 0;
    await findFields([stream], {}, { breathe: () => Promise.resolve(void pauses++) });
    expect(pauses).toBeGreaterThan(5);
    const signal = { aborted: false };
    let left = 4;
    const breathe = (): Promise<void> => Promise.resolve(void (signal.aborted = --left === 0));
    await expect(findFields([stream], {}, { signal, breathe })).rejects.toThrow(Cancelled);
  });
});
