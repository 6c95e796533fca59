import { describe, expect, it } from 'vitest';
import { driftOf, type TimedLag } from '../../src/actions/drift.ts';
import { createRandom } from '../../src/kit/random.ts';

/** Sixty answers over ten minutes, a reaction's spread about a line; one in ten has to do with something else. */
function answers(seed: number, ppm: number): TimedLag[] {
  const random = createRandom(seed);
  return Array.from({ length: 60 }, (_, k) => {
    const atS = 10 * k + random.between(0, 5);
    const stray = k % 10 === 9 ? random.between(-0.7, 0.7) : 0;
    return { atS, lagS: 0.1 + stray + 0.08 * random.normal() - (atS - 300) * ppm * 1e-6 };
  });
}

describe("drift of the marks' clock (60 answers over 600 s, spread 0.08 s)", () => {
  it.each([1500, -700, 400])('of %d millionths is found within its error', (ppm) => {
    const found = Array.from({ length: 20 }, (_, seed) => driftOf(answers(seed, ppm), 0.1));
    expect(found.filter((drift) => drift !== null).length).toBeGreaterThanOrEqual(18);
    const near = found.filter((drift) => drift && Math.abs(drift.ppm - ppm) <= 2.5 * drift.sePpm);
    expect(near.length).toBeGreaterThanOrEqual(16);
  });

  it('is not claimed where the clocks keep step, nor from few answers', () => {
    const claimed = Array.from({ length: 60 }, (_, seed) => driftOf(answers(100 + seed, 0), 0.1)).filter(Boolean);
    expect(claimed.length).toBeLessThanOrEqual(2);
    expect(driftOf(answers(1, 1500).slice(0, 10), 0.1)).toBeNull();
  });
});
