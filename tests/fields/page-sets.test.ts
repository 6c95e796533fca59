import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk, placeKey } from './support/streams.ts';

const COUNT = 4000;

/** Pages 0..4, of which those of a set show the same two values; byte 7 is on all pages. `apart`: each page shows values of its own, near those of the others. */
function setsStream(setOf: readonly number[], apart: number): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(COUNT * 8);
  const walks = [0, 1].map((set) =>
    physicalWalk(createRandom(`set ${set}`), COUNT, 9000 + 20000 * set, 24000 + 20000 * set),
  );
  const slow = [0, 1].map((set) => physicalWalk(createRandom(`slow ${set}`), COUNT, 40 + 90 * set, 60 + 90 * set));
  const common = physicalWalk(createRandom('on all pages'), COUNT, 10, 240);
  for (let row = 0; row < COUNT; row++) {
    const page = row % setOf.length;
    const set = setOf[page] as number;
    const value = (walks[set] as Float64Array)[row]! + apart * 700 * page;
    const second = (slow[set] as Float64Array)[row]! + apart * 11 * page;
    payload.set([page, value & 255, value >> 8, 0, second, set === 0 ? 0 : 64, 0, common[row] as number], row * 8);
  }
  return makeStream(payload, 8);
}

const whenOf = (stream: ReturnType<typeof makeStream>): string[] => {
  const { selectors, fields } = findFieldsOfStream(stream, {});
  expect(selectors).toHaveLength(1);
  const name = selectors[0]?.name as string;
  return fields
    .map((field) => `${placeKey(field as Placement).split('+')[0]} on ${field.when?.[name]?.join() ?? 'all'}`)
    .sort();
};

describe('sets of pages', () => {
  it('says a value once that goes on from page to page', () => {
    const said = whenOf(setsStream([0, 0, 0, 1, 1], 0)).filter((each) => !each.startsWith('7.0'));
    expect(said).toEqual(['1.0 on 0,1,2', '1.0 on 3,4', '4.0 on 0,1,2', '4.0 on 3,4']);
  });

  it('keeps pages apart of which each shows a value of its own in the same place', () => {
    const apart = whenOf(setsStream([0, 0, 0, 1, 1], 1));
    expect(apart.filter((each) => each.startsWith('4.0'))).toEqual([0, 1, 2, 3, 4].map((page) => `4.0 on ${page}`));
  });
});
