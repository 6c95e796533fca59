/**
 * Straight lines against certified values: the data set "Norris" (calibration of ozone monitors, 36 observations, linear) of the
 * Statistical Reference Datasets of the National Institute of Standards and Technology. Data and certified
 * values are from memory; that they agree to ten digits is itself the check of the memory.
 */
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { ordinaryLine } from '../../src/kit/statistics/line.ts';
import { robustLine } from '../../src/kit/statistics/robust-line.ts';

const X = [
  0.2, 337.4, 118.2, 884.6, 10.1, 226.5, 666.3, 996.3, 448.6, 777.0, 558.2, 0.4, 0.6, 775.5, 666.9, 338.0, 447.5, 11.6,
  556.0, 228.1, 995.8, 887.6, 120.2, 0.3, 0.3, 556.8, 339.1, 887.2, 999.0, 779.0, 11.1, 118.3, 229.2, 669.1, 448.9, 0.5,
];
const Y = [
  0.1, 338.8, 118.1, 888.0, 9.2, 228.1, 668.5, 998.5, 449.1, 778.9, 559.2, 0.3, 0.1, 778.1, 668.8, 339.3, 448.9, 10.8,
  557.7, 228.3, 998.0, 888.8, 119.6, 0.3, 0.6, 557.6, 339.3, 888.0, 998.5, 778.9, 10.2, 117.6, 228.9, 668.4, 449.2, 0.2,
];

describe('Norris (NIST Statistical Reference Datasets)', () => {
  const line = ordinaryLine(X, Y);

  it('reproduces the certified line', () => {
    expect(line.offset).toBeCloseTo(-0.262323073774029, 9);
    expect(line.scale).toBeCloseTo(1.00211681802045, 11);
  });

  it('reproduces the certified standard errors, residual deviation and R squared', () => {
    expect(line.offsetSe).toBeCloseTo(0.232818234301152, 9);
    expect(line.scaleSe).toBeCloseTo(0.000429796848199937, 12);
    expect(line.residualSd).toBeCloseTo(0.884796396144373, 9);
    expect(line.r2).toBeCloseTo(0.999993745883712, 11);
  });

  it('lets the robust line stay within one standard error of it', () => {
    const robust = robustLine(X, Y, createRandom(1));
    expect(Math.abs(robust.scale - line.scale)).toBeLessThan(line.scaleSe);
    expect(Math.abs(robust.offset - line.offset)).toBeLessThan(line.offsetSe);
  });
});
