/** Monotone curves against the closed form of isotonic regression, and on curves that are known. */
import { mean as meanOf } from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { alongKnots, monotoneKnots, neverFalling } from '../../src/kit/statistics/monotone.ts';

const random = createRandom('monotone');

/** Value i is the greatest, over starts up to i, of the least mean to any end from i on (Robertson, Wright and Dykstra 1988). */
const byMaxMin = (values: readonly number[]): number[] =>
  values.map((_, i) =>
    Math.max(
      ...values
        .slice(0, i + 1)
        .map((_start, start) =>
          Math.min(...values.slice(i).map((_end, end) => meanOf(values.slice(start, i + end + 1)))),
        ),
    ),
  );

describe('isotonic regression', () => {
  it('is what the max-min formula says', () => {
    for (let round = 0; round < 20; round++) {
      const values = Array.from({ length: 15 }, (_, i) => 0.2 * i + random.normal());
      const found = neverFalling(
        values,
        values.map(() => 1),
      );
      byMaxMin(values).forEach((value, i) => expect(found[i]).toBeCloseTo(value, 10));
    }
  });

  it('counts a value of weight three as three', () => {
    expect(neverFalling([4, 0], [3, 1])).toEqual([3, 3]);
  });
});

describe('monotone knots', () => {
  const x = Array.from({ length: 600 }, () => random.between(0, 100));

  it('leaves a line with its two ends', () => {
    const y = x.map((value) => 5 - 2 * value + 0.5 * random.normal());
    const knots = monotoneKnots(x, y, -1, 1.5);
    expect(knots).toHaveLength(2);
  });

  it('follows a falling bend with few knots', () => {
    const curve = (at: number): number => 80 * Math.exp(-at / 30);
    const knots = monotoneKnots(
      x,
      x.map((value) => curve(value) + 0.3 * random.normal()),
      -1,
      0.3,
    );
    expect(knots.length).toBeGreaterThan(3);
    expect(knots.length).toBeLessThan(15);
    for (const at of [5, 20, 50, 90]) expect(Math.abs(alongKnots(knots, at) - curve(at))).toBeLessThan(1.5);
  });

  it('comes to an end with ends that floating point misses by a hair', () => {
    const steps = Array.from({ length: 30 }, (_, i) => 0.1 + Math.floor(i / 10) * (830 / 997));
    const line = steps.map((at) => 0.1 + 0.3 * at);
    expect(monotoneKnots(steps, line, 1, 0).length).toBeGreaterThan(1);
  });
});
