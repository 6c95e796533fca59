import { describe, expect, it } from 'vitest';
import { areNews, changesOf } from '../../src/fields/changes.ts';
import { rowsOfStream } from '../../src/fields/payload-rows.ts';
import { makeStream } from './support/streams.ts';

const ALL = Uint8Array.of(0xff, 0xff);

/** Frames of two bytes. */
const rows = (frames: readonly (readonly [number, number])[]) =>
  rowsOfStream(makeStream(Uint8Array.from(frames.flat()), 2));

describe('what a frame says anew', () => {
  it('is at rows that differ in the bits looked at from the row before', () => {
    const sent = rows([
      [1, 0],
      [1, 0],
      [1, 7],
      [2, 7],
      [2, 7],
    ]);
    expect([...changesOf(sent, ALL).data]).toEqual([1, 0, 1, 7, 2, 7]);
    expect([...changesOf(sent, Uint8Array.of(0xff, 0)).data]).toEqual([1, 0, 2, 7]);
  });

  it('is said by bits that move at nearly all of the changes', () => {
    const withRest = (share: number) =>
      rows(Array.from({ length: 101 }, (_, row): [number, number] => [row & 15, row <= 100 * share ? row & 1 : 0]));
    const rest = Uint8Array.of(0, 0xff);
    expect(areNews(withRest(1), rest)).toBe(true);
    expect(areNews(withRest(0.95), rest)).toBe(true);
    expect(areNews(withRest(0.8), rest)).toBe(false);
  });
});
