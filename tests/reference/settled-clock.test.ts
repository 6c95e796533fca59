/** One clock for all readings of a file: agreed on by what each quantity says, and what of it a single field believes. */
import { describe, expect, it } from 'vitest';
import { agreedShift, shiftAtClock } from '../../src/reference/settled-clock.ts';
import { clockOfFew, tryFewReadings } from '../../src/reference/few-readings.ts';
import { layOnGrid } from '../../src/reference/field-grid.ts';
import { createRandom } from '../../src/kit/random.ts';

const unknown = { shiftS: 9, seS: Number.POSITIVE_INFINITY };

describe('the shift that quantities agree on', () => {
  it('is not moved by one receiver that is late', () => {
    const agreed = agreedShift([
      { shiftS: 2, seS: 0.003 },
      { shiftS: 2.01, seS: 0.003 },
      { shiftS: 1.65, seS: 0.003 },
      unknown,
    ]);
    expect(agreed?.shiftS).toBe(2);
    // They disagree, so the error is greater than that of three that do not.
    expect(agreed?.seS).toBeGreaterThan(0.01 / Math.sqrt(3));
  });

  it('is the surest one where others know little, and null where none knows', () => {
    const vague = { shiftS: 5, seS: 1 };
    expect(agreedShift([vague, { shiftS: 2, seS: 0.01 }, vague])?.shiftS).toBe(2);
    expect(agreedShift([unknown])).toBeNull();
  });
});

describe('the shift of one field', () => {
  const clock = { shiftS: 2, seS: 0.005 };
  it('stays where it is sure of it or is plainly late, and goes to the clock where it knows nothing', () => {
    expect(shiftAtClock({ shiftS: 2.04, seS: 0.002 }, clock).shiftS).toBeCloseTo(2.04, 3);
    expect(shiftAtClock({ shiftS: 2.4, seS: 0.01 }, clock)).toEqual({ shiftS: 2.4, seS: 0.01 });
    expect(shiftAtClock(unknown, clock).shiftS).toBe(2);
    const between = shiftAtClock({ shiftS: 2.1, seS: 0.1 }, clock);
    expect(between.shiftS).toBeGreaterThan(2);
    expect(between.shiftS).toBeLessThan(2.05);
    expect(between.seS).toBeLessThan(0.1);
  });
});

describe('a handful of readings by hand (seed 5)', () => {
  const random = createRandom(5);
  const n = 6000;
  const timeUs = Float64Array.from({ length: n }, (_, i) => i * 20_000);
  const truth = (atS: number): number => 300 + 40 * Math.sin(atS / 3) + 20 * Math.sin(atS / 1.3);
  const value = timeUs.map((us) => Math.round(truth(us / 1e6)));
  const grid = layOnGrid({ timeUs, value }, 'unsigned', n / 50);
  const readings = (count: number, lateS: number) => {
    const timeS = Float64Array.from({ length: count }, (_, i) => 5 + (i * 105) / count + random.between(0, 3));
    return { name: 'v', unit: 'V', timeS, value: timeS.map((atS) => truth(atS + lateS)) };
  };

  it('tells when they were taken, with an error', () => {
    const tried = tryFewReadings(grid, readings(9, 0.3), 0);
    const clock = clockOfFew([{ trials: [tried] }], 0);
    expect(Math.abs(clock.shiftS - 0.3)).toBeLessThan(3 * clock.seS);
    expect(clock.seS).toBeLessThan(0.2);
  });

  it('leaves a person’s scatter where nothing tells', () => {
    const clock = clockOfFew([{ trials: [] }], 1.5);
    expect(clock.shiftS).toBeCloseTo(1.5, 6);
    expect(clock.seS).toBeGreaterThan(0.2);
  });
});
