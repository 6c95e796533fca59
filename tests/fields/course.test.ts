/**
 * The finer price of a number is a code's length: no more can be saved than probabilities allow (Kraft, 1949, from memory), and what no way foretells is
 * not cheaper than its entropy (Shannon, Bell System Technical Journal 27, 1948). The draws are our own.
 */
import { describe, expect, it } from 'vitest';
import { courseBits, type Course } from '../../src/fields/course.ts';
import { findFieldsOfStream } from '../../src/fields/find.ts';
import type { Placement } from '../../src/frames/bits.ts';
import { createRandom, type Random } from '../../src/kit/random.ts';
import { makeStream, placeKey, writeColumn } from './support/streams.ts';

const courseOf = (values: readonly number[]): Course => ({
  values: Float64Array.from(values),
  begins: Uint8Array.from(values, (_, row) => (row === 0 ? 1 : 0)),
});

const RANGE = 64;
const MANNERS: readonly (readonly [string, (random: Random) => readonly number[]])[] = [
  ['noise', (random) => Array.from({ length: 50 }, () => random.below(RANGE))],
  ['a ramp that comes round', () => Array.from({ length: 50 }, (_, row) => (7 * row) % RANGE)],
  ['steps to and fro', (random) => Array.from({ length: 50 }, (_, row) => 20 + (row % 2) + 8 * random.below(2))],
];

describe('bits of a course', () => {
  it.each(MANNERS)('are those of a code: the chances of all that may come next make one at most (%s)', (_, draw) => {
    const so = draw(createRandom('kraft'));
    for (const onlyMoves of [false, true]) {
      const before = courseBits(courseOf(so), RANGE, onlyMoves);
      let sum = 0;
      for (let next = 0; next < RANGE; next++)
        if (!onlyMoves || next !== so.at(-1))
          sum += 2 ** (before - courseBits(courseOf([...so, next]), RANGE, onlyMoves));
      expect(sum).toBeLessThanOrEqual(1 + 1e-9);
      expect(sum).toBeGreaterThan(0.6);
    }
  });

  it('are no fewer than noise has, and few for a steady ramp', () => {
    const random = createRandom('entropy');
    const noise = courseOf(Array.from({ length: 2000 }, () => random.below(RANGE)));
    expect(courseBits(noise, RANGE, false)).toBeGreaterThan(6 * 1999 - 10);
    const ramp = courseOf(Array.from({ length: 2000 }, (_, row) => (7 * row) % RANGE));
    expect(courseBits(ramp, RANGE, false)).toBeLessThan(0.2 * 2000);
  });
});

const COUNT = 1500;
const BYTES = 8;
const PLACE: Placement = { lsb: { byte: 2, bit: 0 }, length: 16, order: 'little' };

function foundOf(values: Float64Array): string[] {
  const payload = new Uint8Array(COUNT * BYTES);
  writeColumn(payload, BYTES, PLACE, values);
  return findFieldsOfStream(makeStream(payload, BYTES), {}).fields.map((field) => placeKey(field as Placement));
}

describe('numbers that are kept whole', () => {
  it.each([1, 2, 3])('a timer read at moments that are not quite even, draw %i', (draw) => {
    const random = createRandom(`timer ${draw}`);
    const values = Float64Array.from({ length: COUNT }, (_, row) => Math.round(100 * row + 3 * random.normal() + 500));
    expect(foundOf(values.map((value) => value % 65536))).toEqual([placeKey(PLACE)]);
  });

  it.each([1, 2, 3])('an angle that comes round at 3600 again and again, draw %i', (draw) => {
    const random = createRandom(`angle ${draw}`);
    let [angle, speed] = [0, 300];
    const values = Float64Array.from({ length: COUNT }, () => {
      speed = Math.max(100, Math.min(700, speed + 8 * random.normal()));
      angle = (angle + speed) % 3600;
      return Math.floor(angle);
    });
    expect(foundOf(values)).toEqual([placeKey({ ...PLACE, length: 12 })]);
  });

  it.each([1, 2, 3])('a number over a gear that is seldom changed, each for itself, draw %i', (draw) => {
    const random = createRandom(`gear ${draw}`);
    const payload = new Uint8Array(COUNT * BYTES);
    const number: Placement = { lsb: { byte: 1, bit: 3 }, length: 13, order: 'big' };
    const gear: Placement = { lsb: { byte: 1, bit: 0 }, length: 3, order: 'little' };
    let torque = 4000;
    // Parked, back, neutral, and on for the most of the time, with torque only then.
    const gearAt = (row: number): number => (row < 60 ? 0 : row < 110 ? 3 : row < 150 ? 1 : row < 1440 ? 4 : 0);
    const torques = Float64Array.from({ length: COUNT }, (_, row) => {
      if (gearAt(row) !== 4) return 4000;
      torque += (4000 + 2500 * Math.sin(row / 60) - torque) / 12 + 6 * random.normal();
      return Math.round(torque);
    });
    writeColumn(payload, BYTES, number, torques);
    writeColumn(
      payload,
      BYTES,
      gear,
      Float64Array.from({ length: COUNT }, (_, row) => gearAt(row)),
    );
    const found = findFieldsOfStream(makeStream(payload, BYTES), {}).fields.map((field) =>
      placeKey(field as Placement),
    );
    expect(found).toContain(placeKey(number));
  });
});
