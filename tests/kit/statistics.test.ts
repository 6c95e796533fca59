/**
 * Shared statistics against two general-purpose libraries (simple-statistics, jstat), which know nothing of this project.
 */
import { jStat } from 'jstat';
import {
  linearRegression,
  medianAbsoluteDeviation,
  quantile as quantileOf,
  sampleCorrelation,
  sampleRankCorrelation,
  sampleVariance,
} from 'simple-statistics';
import { describe, expect, it } from 'vitest';
import { createRandom } from '../../src/kit/random.ts';
import { effectiveCount, independentPairs, varianceOfSum } from '../../src/kit/statistics/autocorrelation.ts';
import { lagOneCorrelation, pearson, spearman } from '../../src/kit/statistics/correlation.ts';
import { erfc, normalBelow, normalQuantile, studentQuantile } from '../../src/kit/statistics/distributions.ts';
import { clusteredQValues, benjaminiHochberg } from '../../src/kit/statistics/false-discovery.ts';
import { medianSlopeLine, ordinaryLine } from '../../src/kit/statistics/line.ts';
import { residualSpread, robustLine } from '../../src/kit/statistics/robust-line.ts';
import { MAD_TO_SD, median, quantile, ranks, robustSd, trimmedMean, variance } from '../../src/kit/statistics/order.ts';
import { addShifted, roundSeries, sizesOf, wrap } from '../../src/kit/statistics/shifts.ts';
import { circularMaximum } from '../../src/kit/statistics/sliding.ts';

const random = createRandom('statistics');
const normals = (n: number): number[] => Array.from({ length: n }, () => random.normal());
const x = normals(201);
const y = x.map((value) => 3 - 2 * value + 0.5 * random.normal());

describe('order statistics', () => {
  it('agrees with simple-statistics on median, deviation and variance', () => {
    expect(median(x)).toBeCloseTo(quantileOf(x, 0.5), 12);
    expect(robustSd(x)).toBeCloseTo(MAD_TO_SD * medianAbsoluteDeviation(x), 12);
    expect(variance(x)).toBeCloseTo(sampleVariance(x), 12);
  });

  it('interpolates quantiles as type 7 does (Hyndman and Fan 1996, table: 1 + (n - 1) p)', () => {
    expect(quantile([10, 20, 30, 40], 0.25)).toBe(17.5);
    expect(quantile([10, 20, 30, 40], 1)).toBe(40);
    expect(quantile([], 0.5)).toBeNaN();
  });

  it('gives ties their mean rank', () => {
    expect([...ranks([3, 1, 3, 2, 3])]).toEqual([4, 1, 4, 2, 4]);
  });

  it('trims both ends', () => {
    expect(trimmedMean([-1000, 1, 2, 3, 1000], 0.2)).toBe(2);
    expect(trimmedMean([5], 0.4)).toBe(5);
  });
});

describe('correlation', () => {
  it('agrees with simple-statistics', () => {
    expect(pearson(x, y)).toBeCloseTo(sampleCorrelation(x, y), 12);
    expect(spearman(x, y)).toBeCloseTo(sampleRankCorrelation(x, y), 3);
  });

  it('is 0 where one side never moves', () => {
    expect(pearson([1, 1, 1], [1, 2, 3])).toBe(0);
    expect(lagOneCorrelation([2, 2, 2, 2])).toBe(0);
  });

  it('counts independent values: white noise all of them, a first-order series n (1 - r) / (1 + r)', () => {
    let state = 0;
    const slow = normals(4000).map((kick) => (state = 0.9 * state + kick));
    expect(effectiveCount(4000, lagOneCorrelation(slow))).toBeGreaterThan(130);
    expect(effectiveCount(4000, lagOneCorrelation(slow))).toBeLessThan(310);
    expect(independentPairs(normals(300), normals(300))).toBeGreaterThan(150);
    const drift = Array.from({ length: 300 }, (_, i) => i + random.normal());
    expect(independentPairs(drift, drift)).toBeLessThan(6);
  });
});

describe('distributions', () => {
  it('agrees with jstat', () => {
    for (const z of [-3, -1, 0, 0.4, 2.5]) expect(normalBelow(z)).toBeCloseTo(jStat.normal.cdf(z, 0, 1), 6);
    for (const share of [0.025, 0.5, 0.9, 0.999])
      expect(normalQuantile(share)).toBeCloseTo(jStat.normal.inv(share, 0, 1), 5);
    expect(erfc(1)).toBeCloseTo(jStat.erfc(1), 7);
    for (const degrees of [1, 2, 3, 5, 10, 40, 1000]) {
      expect(studentQuantile(0.975, degrees) / jStat.studentt.inv(0.975, degrees)).toBeCloseTo(1, 3);
    }
  });
});

describe('lines', () => {
  it('fits as simple-statistics does', () => {
    const theirs = linearRegression(x.map((value, i) => [value, y[i] as number]));
    const ours = ordinaryLine(x, y);
    expect(ours.scale).toBeCloseTo(theirs.m, 10);
    expect(ours.offset).toBeCloseTo(theirs.b, 10);
  });

  it('is not moved by a tenth of the points being wild', () => {
    const wild = y.map((value, i) => (i % 10 === 0 ? value + 40 : value));
    const line = robustLine(x, wild, createRandom(1));
    expect(Math.abs(line.scale + 2)).toBeLessThan(0.15);
    expect(Math.abs(ordinaryLine(x, wild).offset - 3)).toBeGreaterThan(3);
    expect(Math.abs(medianSlopeLine(x, wild, createRandom(1)).scale + 2)).toBeLessThan(0.3);
  });

  it('does not call a line perfect that fits a long rest and misses the movement', () => {
    const rests = Array.from({ length: 100 }, (_, i) => (i < 60 ? 0 : i));
    expect(residualSpread(rests)).toBeGreaterThan(30);
  });

  it('knows the error of a sum: n for white noise, n / (1 - r)^2 for a first-order series', () => {
    const draw = createRandom('sums');
    const of = (r: number): number => {
      let state = 0;
      return varianceOfSum(Float64Array.from({ length: 20000 }, () => (state = r * state + draw.normal()))) / 20000;
    };
    expect(of(0)).toBeGreaterThan(0.85);
    expect(of(0)).toBeLessThan(1.15);
    expect(of(0.8) * 0.2 ** 2).toBeGreaterThan(0.75);
    expect(of(0.8) * 0.2 ** 2).toBeLessThan(1.25);
  });

  it('states errors that hold: the true scale lies within 1.96 of them in 0.92 to 0.98 of 400 series of 200 points whose errors remember', () => {
    const draw = createRandom('coverage');
    let inside = 0;
    const runs = 400;
    for (let run = 0; run < runs; run++) {
      let slow = 0;
      let error = 0;
      const xs = Array.from({ length: 200 }, () => (slow = 0.8 * slow + draw.normal()));
      const ys = xs.map((value) => 2 * value + (error = 0.6 * error + draw.normal()));
      const line = robustLine(xs, ys, draw, true);
      if (Math.abs(line.scale - 2) <= 1.96 * line.scaleSe) inside++;
    }
    expect(inside / runs).toBeGreaterThan(0.92);
    expect(inside / runs).toBeLessThan(0.98);
  });
});

describe('false discovery', () => {
  it('counts a cluster as one discovery and yet all of it as tests', () => {
    const p = [0.001, 0.001, 0.001, 0.02];
    const plain = benjaminiHochberg(p);
    const clustered = clusteredQValues(p, [1, 1, 1, 2], 4);
    expect(plain[0]).toBeCloseTo(0.001 * (4 / 3), 12);
    expect(clustered[0]).toBeCloseTo(0.004, 12);
    expect(clustered[3]).toBeCloseTo(0.04, 12);
    p.forEach((_, i) => expect(clustered[i]).toBeGreaterThanOrEqual(plain[i] as number));
  });
});

describe('circles', () => {
  it('adds a series shifted round', () => {
    const into = new Float64Array(5);
    addShifted(into, [roundSeries(Float64Array.of(1, 2, 3, 4, 5))], [-2]);
    expect([...into]).toEqual([4, 5, 1, 2, 3]);
    expect(wrap(-1, 5)).toBe(4);
  });

  it('adds many at once as one after the other would, to the last digit, mostly zero or not', () => {
    const n = 97;
    const dense = Float64Array.from(normals(n));
    const seldom = dense.map((value, k) => (k % 19 === 4 ? value : 0));
    const series = Array.from({ length: 21 }, (_, i) => (i % 6 === 5 ? seldom : dense));
    const starts = series.map((_, i) => 31 * i - 200);
    const plain = new Float64Array(n);
    series.forEach((one, i) => {
      for (let k = 0; k < n; k++) plain[k] = (plain[k] as number) + (one[wrap(k + (starts[i] as number), n)] as number);
    });
    const fast = new Float64Array(n);
    addShifted(fast, series.map(roundSeries), starts);
    expect([...fast]).toEqual([...plain]);
    expect(roundSeries(seldom).few).not.toBeNull();
    expect([...sizesOf(roundSeries(dense)).once]).toEqual(Array.from(dense, Math.abs));
  });

  it('finds sliding maxima as the plain definition does', () => {
    const values = Float64Array.from(normals(57));
    for (const [from, to] of [
      [-3, 4],
      [0, 0],
      [-8, 20],
      [2, 9],
    ] as const) {
      const fast = circularMaximum(values, from, to, new Float64Array(57));
      const slow = values.map((_, k) =>
        Math.max(...Array.from({ length: to - from + 1 }, (_unused, i) => values[wrap(k + from + i, 57)] as number)),
      );
      expect([...fast]).toEqual([...slow]);
    }
  });
});
