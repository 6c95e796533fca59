import { describe, expect, it } from 'vitest';
import { findFields, findFieldsOfStream } from '../../src/fields/find.ts';
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

function pagedStream(pages: number, count: number): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(count * 8);
  writeColumn(
    payload,
    8,
    place(0, 8, 'little'),
    Float64Array.from({ length: count }, (_, row) => row % pages),
  );
  for (let page = 0; page < pages; page++) {
    const walk = physicalWalk(createRandom(`page ${page}`), count, 9000 * page, 9000 * page + 8000);
    for (let row = page; row < count; row += pages) {
      payload[row * 8 + 2] = (walk[row] as number) >> 8;
      payload[row * 8 + 3] = (walk[row] as number) & 255;
    }
  }
  return makeStream(payload, 8);
}

describe('pages', () => {
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
