import { describe, expect, it } from 'vitest';
import { measureBits } from '../../src/fields/bit-statistics.ts';
import { makeStream } from './support/streams.ts';

describe('bit statistics', () => {
  it('counts set and changed bits as by hand', () => {
    const { setShare, changeShare } = measureBits(
      makeStream(Uint8Array.of(0x01, 0x80, 0x03, 0x80, 0x00, 0x80, 0x01, 0x00), 2),
    );
    expect(setShare.slice(0, 3)).toEqual([3 / 4, 1 / 4, 0]);
    expect(setShare[15]).toBe(3 / 4);
    expect(changeShare.slice(0, 3)).toEqual([2 / 3, 2 / 3, 0]);
    expect(changeShare[15]).toBe(1 / 3);
  });

  it('takes bytes beyond a short frame as not changed', () => {
    const stream = { ...makeStream(Uint8Array.of(1, 2, 1, 0, 1, 3), 2), lengths: Uint8Array.of(2, 1, 2) };
    expect(measureBits(stream).changeShare.every((share) => share === 0)).toBe(true);
  });
});
