/** How few frames whose content came again are enough to say that a tag has a rule. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { createRandom } from '../../src/kit/random.ts';
import { mixBeyondFamilies } from '../truth/otherwise/payload/slow-checks.ts';
import { makeStream } from './support/streams.ts';

const COUNT = 400;

/** A counter in the high half of byte 3 and a tag in byte 4; bytes 0 to 2 are new in each frame, but for `again` frames sent as they were 160 before. */
function withTag(
  again: number,
  tagOf: (message: readonly number[], row: number) => number,
): ReturnType<typeof makeStream> {
  const random = createRandom('few again');
  const payload = new Uint8Array(COUNT * 5);
  let level = 2000;
  for (let row = 0; row < COUNT; row++) {
    level += random.below(60) - 29;
    const own = payload.subarray(row * 5, row * 5 + 5);
    own.set([level >> 8, level & 0xff, row & 0xff, (row % 16) << 4]);
    if (row >= 300 && row < 300 + again) own.set(payload.subarray((row - 160) * 5, (row - 160) * 5 + 4));
    own[4] = tagOf([...own.subarray(0, 4)], row);
  }
  return makeStream(payload, 5);
}

const mixed = (message: readonly number[]): number => mixBeyondFamilies(message, 77) & 0xff;
const tagsOf = (stream: ReturnType<typeof makeStream>) =>
  findFieldsOfStream(stream, {}).checksums.map(({ method, lsb }) => `${method} ${lsb.byte}`);

describe('a byte that changes like a tag', () => {
  it('has a rule where content came again three times, each time with the same tag', () => {
    expect(tagsOf(withTag(3, mixed))).toEqual(['unsolved 4']);
  });

  it('is not called anything where one of the three brought another', () => {
    expect(tagsOf(withTag(3, (message, row) => mixed(message) ^ (row === 301 ? 0x55 : 0)))).toEqual([]);
  });

  it('nor where content never came again', () => {
    expect(tagsOf(withTag(0, mixed))).toEqual([]);
  });
});
