/** What pages are worth, against reading the would-be selector as part of a number (minimum description length, Rissanen 1978). */
import { describe, expect, it } from 'vitest';
import type { Piece } from '../../src/frames/bits.ts';
import { UNBIASED } from '../../src/fields/divide.ts';
import { claim } from '../../src/fields/mask.ts';
import { leavesOf } from '../../src/fields/page-leaves.ts';
import { bitsWithout, worthOfPages } from '../../src/fields/page-worth.ts';
import { movedMask, rowsOfStream } from '../../src/fields/payload-rows.ts';
import { runThrough } from '../../src/fields/steps.ts';
import { createRandom } from '../../src/kit/random.ts';
import { makeStream, physicalWalk } from './support/streams.ts';

const COUNT = 2400;
const BYTES = 4;

/** Bits read frame after frame with the piece left to the spans, and read by the piece's values. */
function bitsOf(fill: (row: number) => readonly number[], piece: Piece): { whole: number; byPages: number } {
  const payload = new Uint8Array(COUNT * BYTES);
  for (let row = 0; row < COUNT; row++) payload.set(fill(row), row * BYTES);
  const rows = rowsOfStream(makeStream(payload, BYTES));
  const free = movedMask(rows);
  const usable = new Uint8Array(BYTES).fill(255);
  for (const mask of [free, usable]) claim(mask, piece);
  const on = { on: [], values: [0, 1], listed: false, saved: 0, gain: 0, isList: false };
  const leaves = leavesOf(rows, [{ ...piece, ...on, name: 'candidate' }]);
  const quiet = new Uint8Array(BYTES).fill(255);
  const options = { decisions: [], orderBits: UNBIASED };
  const asked = { rows, leaves, free, usable, quiet, isList: false, options };
  const { plainBits, savedBits } = runThrough(worthOfPages(asked));
  return { whole: runThrough(bitsWithout(asked, piece)), byPages: plainBits - savedBits };
}

describe('what pages are worth', () => {
  it('is little where a bit is the sign of a number that goes through zero', () => {
    const walks = ['rate', 'angle'].map((name) => physicalWalk(createRandom(name), COUNT, -300, 300));
    const sign: Piece = { lsb: { byte: 1, bit: 3 }, length: 1, order: 'little' };
    const { whole, byPages } = bitsOf((row) => {
      const [rate, angle] = walks.map((walk) => (walk[row] as number) & 0xfff) as [number, number];
      return [rate & 255, rate >> 8, angle & 255, angle >> 8];
    }, sign);
    expect(byPages).toBeGreaterThan(0.85 * whole);
  });

  it('is much where a bit sent as is needed decides between two numbers', () => {
    const random = createRandom('needed');
    const walks = ['first', 'second'].map((name) => physicalWalk(createRandom(name), COUNT, 0, 4000));
    const page: Piece = { lsb: { byte: 0, bit: 0 }, length: 1, order: 'little' };
    const { whole, byPages } = bitsOf((row) => {
      const own = random.below(2);
      const value = walks[own]?.[row] as number;
      return [own, value & 255, value >> 8, 0];
    }, page);
    expect(byPages).toBeLessThan(0.8 * whole);
  });
});
