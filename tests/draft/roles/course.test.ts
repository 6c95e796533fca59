/** The first-order lag against its closed form (a ramp is followed T late, less T exp(-t/T): any text on linear systems). */
import { describe, expect, it } from 'vitest';
import { followed, readAt } from '../../../src/draft/roles/course.ts';

const stepUs = 10_000;

describe('followed', () => {
  it('follows a ramp as the closed form has it', () => {
    const ramp = { stepUs, value: Float64Array.from({ length: 200 }, (_, k) => k * 0.01) };
    const out = followed(ramp, 50_000);
    for (const k of [1, 5, 20, 199]) {
      const timeS = k * 0.01;
      expect(out.value[k]).toBeCloseTo(timeS - 0.05 * (1 - Math.exp(-timeS / 0.05)), 10);
    }
  });

  it('begins settled after a silence', () => {
    const value = Float64Array.from([5, 5, Number.NaN, 9, 9]);
    const out = followed({ stepUs, value }, 50_000);
    expect([...out.value]).toEqual([5, 5, Number.NaN, 9, 9]);
  });

  it('is itself without a time constant', () => {
    const course = { stepUs, value: Float64Array.from([1, 2, 3]) };
    expect([...followed(course, 0).value]).toEqual([1, 2, 3]);
  });
});

describe('readAt', () => {
  it('goes straight between instants and knows nothing outside', () => {
    const course = { stepUs, value: Float64Array.from([0, 10, 30]) };
    expect(readAt(course, 15_000)).toBe(20);
    expect(readAt(course, -1)).toBeNaN();
    expect(readAt(course, 20_000)).toBeNaN();
  });
});
