/** Bits side by side that move together, or never do. What is expected of flags and of values is common practice, no source. */
import { describe, expect, it } from 'vitest';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import { neighbourBits, onenessOf, onenessWithin } from '../../src/fields/neighbour-bits.ts';
import { movedMask, rowsOfStream, suddenRows } from '../../src/fields/payload-rows.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { makeStream, placeKey, writeColumn } from './support/streams.ts';

const COUNT = 900;
const place = (byte: number, bit: number, length: number): Placement => ({
  lsb: { byte, bit },
  length,
  order: 'little',
});

function streamOf(columns: readonly (readonly [Placement, ArrayLike<number>])[]) {
  const payload = new Uint8Array(COUNT * 8);
  for (const [placement, values] of columns) writeColumn(payload, 8, placement, Float64Array.from(values));
  return makeStream(payload, 8);
}

function onenessOver(values: ArrayLike<number>, length: number): number {
  const rows = rowsOfStream(streamOf([[place(2, 1, length), values]]));
  return onenessWithin(neighbourBits(rows, movedMask(rows), suddenRows(rows)), 17, length, 'little');
}

/** States that follow on each other at these frames, the first at the beginning. */
const inTurn = (states: readonly number[], ...at: readonly number[]): number[] =>
  Array.from({ length: COUNT }, (_, row) => states[at.filter((turn) => row >= turn).length % states.length] as number);

describe('bits side by side', () => {
  it('speak for one value where one moves only when the other does, and now and then by itself', () => {
    expect(onenessOver(inTurn([0, 1, 2, 3], 50, 130, 260, 300, 480, 590, 700), 2)).toBeGreaterThan(2);
  });

  it('speak for two where they move often and never together', () => {
    expect(onenessOver(inTurn([0, 1, 3, 2], 50, 130, 260, 300, 480, 590, 700, 760), 2)).toBeLessThan(-2);
  });

  it('say less the fewer their moves are', () => {
    expect(onenessOver(inTurn([0, 1, 3], 50, 130, 999), 2)).toBeGreaterThan(
      onenessOver(inTurn([0, 1, 3, 2], 50, 130, 260, 300, 480, 590, 700, 760), 2),
    );
  });

  it('say nothing where one thing often throws both, though one was missed once', () => {
    expect(onenessOf({ rarer: 23, commoner: 24, alike: 11, opposed: 12 })).toBe(0);
    expect(onenessOf({ rarer: 10, commoner: 24, alike: 5, opposed: 5 })).toBeGreaterThan(2);
  });

  it('are read in both orders of bytes, over what stays still', () => {
    const rows = rowsOfStream(
      streamOf([
        [place(2, 6, 1), inTurn([0, 1], 50, 130, 260, 300)],
        [place(3, 1, 1), inTurn([0, 1], 130, 300)],
        [place(1, 1, 1), inTurn([0, 1], 40, 120, 250, 290, 400)],
      ]),
    );
    const { little, big } = neighbourBits(rows, movedMask(rows), suddenRows(rows));
    expect([little[22], big[22]]).toEqual([expect.any(Number), expect.any(Number)]);
    expect(little[22]).toBeGreaterThan(0);
    expect(big[22]).toBeLessThan(0);
  });

  it.each([
    ['to and fro', [0, 1, 2, 3, 2, 1]],
    ['round', [0, 1, 2, 3]],
    ['round with one left out', [0, 1, 2]],
    ['with one between', [0, 2, 1, 2, 0, 1]],
  ])('keep states whole that follow on each other %s', (_, states) => {
    const turns = [50, 130, 260, 300, 480, 590, 700, 760];
    const { fields } = findFieldsOfStream(streamOf([[place(3, 2, 2), inTurn(states, ...turns)]]), {});
    expect(fields.map((field) => placeKey(field as Placement))).toEqual([placeKey(place(3, 2, 2))]);
  });
});
