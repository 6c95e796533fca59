import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';

describe('createRandom', () => {
  it('repeats itself for the same seed and differs for another', () => {
    const draw = (seed: number | string): number[] => Array.from({ length: 5 }, createRandom(seed).next);
    expect(draw('pack')).toEqual(draw('pack'));
    expect(draw('pack')).not.toEqual(draw('drive'));
  });

  it('forks do not move the parent', () => {
    const one = createRandom(7);
    const two = createRandom(7);
    two.fork('other').next();
    expect(one.next()).toBe(two.next());
  });

  it('has the moments of a uniform and of a normal variable (n = 100,000, five standard errors)', () => {
    const random = createRandom(1);
    let uniform = 0;
    let normal = 0;
    let square = 0;
    const n = 100_000;
    for (let i = 0; i < n; i++) {
      uniform += random.next();
      const z = random.normal();
      normal += z;
      square += z * z;
    }
    expect(Math.abs(uniform / n - 0.5)).toBeLessThan(5 * Math.sqrt(1 / 12 / n));
    expect(Math.abs(normal / n)).toBeLessThan(5 / Math.sqrt(n));
    expect(Math.abs(square / n - 1)).toBeLessThan(5 * Math.sqrt(2 / n));
  });
});
