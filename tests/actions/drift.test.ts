import { describe, expect, it } from 'vitest';
import { slopeOf, straightened, unstraightened, type TimedLag } from '../../src/actions/drift.ts';
import { createRandom } from '../../src/kit/random.ts';

/** Answers of three actions over so many seconds, each with a lag of its own, a reaction's spread of 0.08 s; one in ten is marked early. */
function answers(seed: number, ppm: number, marks = 60, seconds = 600): TimedLag[] {
  const random = createRandom(seed);
  return Array.from({ length: marks }, (_, k) => {
    const atS = ((k + random.next()) * seconds) / marks;
    const early = k % 10 === 9 ? random.between(0.3, 0.7) : 0;
    const lag = (own: number): number => 0.1 * own - early + 0.08 * random.normal() - (atS - seconds / 2) * ppm * 1e-6;
    const action = k % 3;
    return [
      { atS, lagS: lag(action), kind: `${action} onset`, mark: `${k}` },
      { atS, lagS: lag(3 - action), kind: `${action} release`, mark: `${k}` },
    ];
  }).flat();
}

describe("drift of the marks' clock (60 marks over 600 s, spread 0.08 s)", () => {
  it.each([1500, -700, 400, 3000])('of %d millionths is told within its error', (ppm) => {
    const found = Array.from({ length: 20 }, (_, seed) => slopeOf(answers(seed, ppm)));
    expect(found.filter((slope) => slope?.isTold).length).toBeGreaterThanOrEqual(19);
    const near = found.filter((slope) => slope && Math.abs(slope.ppm - ppm) <= 2.5 * slope.sePpm);
    expect(near.length).toBeGreaterThanOrEqual(18);
  });

  it('is not told where the clocks keep step, and its error is right there', () => {
    const found = Array.from({ length: 120 }, (_, seed) => slopeOf(answers(100 + seed, 0, 40, 170)));
    expect(found.filter((slope) => slope?.isTold).length).toBeLessThanOrEqual(2);
    const spread = Math.sqrt(
      found.reduce((sum, slope) => sum + ((slope?.ppm ?? 0) / (slope?.sePpm ?? 1)) ** 2, 0) / 120,
    );
    expect(spread).toBeGreaterThan(0.8);
    expect(spread).toBeLessThan(1.25);
  });

  it('is not told of a handful of marks', () => {
    expect(slopeOf(answers(1, 1500).slice(0, 10))).toBeNull();
  });

  it('is taken out of marks, and put back where one is moved by hand', () => {
    const drift = { ppm: 1000, middleS: 100 };
    expect(straightened(1100, drift)).toBeCloseTo(1099, 9);
    expect(unstraightened(straightened(1100, drift), drift)).toBeCloseTo(1100, 9);
    expect(straightened(100, drift)).toBe(100);
  });
});
