/** Where a value goes through zero, and where it only looks so (no source: what is held true of any value that is measured is common practice). */
import { describe, expect, it } from 'vitest';
import { decideCoding } from '../../src/fields/coding.ts';
import { crossingsOf, settled } from '../../src/fields/crossings.ts';
import { createRandom } from '../../src/kit/random.ts';

const COUNT = 2000;
const HALF = 2 ** 11;
/** A voltage of cells: 3.7 V in steps of a millivolt, and now and then a load. */
const cell = (row: number): number => 3700 + ((row * 7) % 5) - (row % 400 > 380 ? 120 : 0);
const column = (valueOf: (row: number) => number): Float64Array =>
  Float64Array.from({ length: COUNT }, (_, row) => valueOf(row));

describe('values that only look as if they had a sign', () => {
  it('come back to a code for "no data" as often as they like, whichever it is', () => {
    for (const code of [0, 4094, HALF + 3]) {
      const low = column((row) => (row < 30 || row % 500 === 250 ? code : 600 + (row % 9)));
      expect(decideCoding(low, 12).coding).toBe('unsigned');
    }
    const high = column((row) => (row < 30 || row % 500 === 250 ? 0 : cell(row)));
    expect(decideCoding(high, 12).coding).toBe('unsigned');
  });

  it('begin with a number that never comes again', () => {
    const answer = column((row) => (row < 30 ? 4094 : Math.round(900 * (1 - Math.cos(row / 90)))));
    expect(decideCoding(answer, 12).coding).toBe('unsigned');
  });

  it('only ever count, and come round at their end', () => {
    expect(
      decideCoding(
        column((row) => (200 + Math.floor(row / 20)) % 256),
        8,
      ).coding,
    ).toBe('unsigned');
  });

  it('leap about between the ends of their range', () => {
    const random = createRandom('set-points');
    const readings = Array.from({ length: 200 }, () => {
      const asked = Float64Array.from({ length: 24 }, () =>
        random.pick([0, 65535, random.below(65536), random.below(65536)]),
      );
      return decideCoding(asked, 16).coding;
    });
    expect(readings.filter((coding) => coding !== 'unsigned').length / readings.length).toBeLessThan(0.25);
  });

  it('are beyond the middle of their range whenever they are anything', () => {
    const brake = [0, 75, 78, 79, 40, 18, 16, 15, 12, 0, 73, 78, 79, 63, 5, 0, 0, 75, 78, 70, 33, 11];
    expect(
      decideCoding(
        column((row) => brake[Math.floor(row / 3) % brake.length] as number),
        7,
      ).coding,
    ).toBe('unsigned');
  });
});

describe('decimal digits', () => {
  it('are seen behind a filling', () => {
    const clock = column((row) => (row < 20 ? 0xfe : Math.floor(row / 20) % 60)).map((value) =>
      value === 0xfe ? value : 16 * Math.floor(value / 10) + (value % 10),
    );
    expect(decideCoding(clock, 8).coding).toBe('bcd');
  });
});

describe('crossings', () => {
  it('still are those of a value that begins with "no data" and goes through zero by its usual steps', () => {
    const speed = column((row) => (row < 30 ? 4095 : (Math.round(300 * Math.sin(row / 40)) + 4096) % 4096));
    const { count, nearest } = crossingsOf(settled(speed, 12), 12, false);
    expect(count).toBeGreaterThan(10);
    expect(nearest.signed).toBe(count);
    expect(decideCoding(speed, 12).coding).toBe('signed');
  });
});
