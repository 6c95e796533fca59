import { describe, expect, it } from 'vitest';
import { makeStream } from '../fields/support/streams.ts';
import { contentCameAgain } from './fields-tellable-guards.ts';
import { Sight } from './fields-truth.ts';

/** Content in byte 0, the tag in byte 1. */
function isTold(content: readonly number[], tags: readonly number[]): boolean {
  const payload = Uint8Array.from(content.flatMap((byte, row) => [byte, tags[row] as number]));
  const sight = new Sight(makeStream(payload, 2, 0x100));
  const seen = sight.see({ place: { lsb: { byte: 1, bit: 0 }, length: 8, order: 'little' }, on: [] });
  return contentCameAgain(seen!, sight);
}

describe('tags that a capture lets anybody tell apart', () => {
  it('are those whose content came again', () => {
    expect(isTold([1, 2, 1], [0x0f, 0xf1, 0x0f])).toBe(true);
    expect(isTold([1, 2, 1], [0x0f, 0xf1, 0x3c])).toBe(true);
  });

  it('are not those whose content is new in each frame', () => {
    expect(isTold([1, 2, 3, 4], [0x0f, 0xf1, 0x0f, 0x3c])).toBe(false);
  });

  it('are not those that were sent twice and no more', () => {
    expect(isTold([1, 1, 2, 2, 3], [0x0f, 0x0f, 0xf1, 0xf1, 0x3c])).toBe(false);
  });
});
