/** Where the tag lies of a sum that comes out to a constant, which any of its bytes could be. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk } from './support/streams.ts';

const COUNT = 3000;
/** Numbers in the low half byte, the last with pages within it above. */
const PAGES = [0, 13, 11, 27, 43];

/** A page's number in byte 0, a counter in byte 1 and behind it the exclusive or of all bytes; values of each page in bytes 3 to 5. */
function pagedBesideTag(): ReturnType<typeof makeStream> {
  const payload = new Uint8Array(COUNT * 6);
  const walksOf = (name: string): Float64Array[] =>
    PAGES.map((page) => physicalWalk(createRandom(`${name} ${page}`), COUNT, 1000 * page, 1000 * page + 9000));
  const [first, second] = [walksOf('first'), walksOf('second')];
  for (let row = 0; row < COUNT; row++) {
    const page = row % PAGES.length;
    const value = first[page]![row] as number;
    const own = payload.subarray(row * 6, row * 6 + 6);
    own.set([PAGES[page] as number, (row % 16) << 4, 0, value & 255, value >> 8, (second[page]![row] as number) >> 10]);
    own[2] = own.reduce((sum, byte) => sum ^ byte, 0x5c);
  }
  return makeStream(payload, 6);
}

describe('the place of a tag', () => {
  it('is not the number of a page at the edge of the frame, which takes few values', () => {
    const { checksums, selectors } = findFieldsOfStream(pagedBesideTag(), {});
    expect(checksums).toMatchObject([{ method: 'xor', lsb: { byte: 2, bit: 0 }, length: 8 }]);
    expect(selectors).toMatchObject([
      { lsb: { byte: 0, bit: 0 }, length: 4 },
      { lsb: { byte: 0, bit: 4 }, length: 2 },
    ]);
  });
});
