/**
 * How much a series remembers, and what that does to the error of its sum: Newey and West 1987 (Bartlett weights) with the
 * automatic bandwidth of Andrews 1991, after the series was whitened by a first-order autoregression and to be
 * coloured again (Andrews and Monahan 1992), without which errors of slow series come out too small.
 */
import { lagOneCorrelation } from './correlation.ts';

/** Steps to sum autocovariances over, 0..n/4, for a series (usually a regression's scores). */
function bartlettLags(series: ArrayLike<number>): number {
  const n = series.length;
  const rho = Math.min(0.97, Math.max(0, lagOneCorrelation(series)));
  const alpha = (4 * rho * rho) / ((1 - rho) ** 2 * (1 + rho) ** 2);
  return Math.min(Math.floor(n / 4), Math.ceil(1.1447 * (alpha * n) ** (1 / 3)));
}

/** Independent values that a series of n with this lag-one correlation is worth for a mean. */
export function effectiveCount(n: number, lagOne: number): number {
  const rho = Math.min(0.999, Math.max(0, lagOne));
  return Math.max(1, (n * (1 - rho)) / (1 + rho));
}

/** [lags + 1] autocorrelations of a series, 1 first; all 0 after it where the series does not vary. */
function autocorrelations(series: ArrayLike<number>, lags: number): Float64Array {
  const n = series.length;
  let middle = 0;
  for (let i = 0; i < n; i++) middle += (series[i] as number) / n;
  const out = new Float64Array(lags + 1);
  for (let lag = 0; lag <= lags; lag++) {
    let sum = 0;
    for (let i = lag; i < n; i++) sum += ((series[i] as number) - middle) * ((series[i - lag] as number) - middle);
    out[lag] = sum;
  }
  const total = out[0] as number;
  return total > 0 ? out.map((value) => value / total) : out.fill(0).fill(1, 0, 1);
}

/**
 * Independent pairs that n autocorrelated pairs are worth for a correlation: Bartlett 1946, from the product of
 * both series' autocorrelations summed over all lags at which it is positive. Two drifts are worth two or three.
 */
export function independentPairs(x: ArrayLike<number>, y: ArrayLike<number>): number {
  const n = Math.min(x.length, y.length);
  const lags = Math.floor(n / 2);
  const ofX = autocorrelations(x, lags);
  const ofY = autocorrelations(y, lags);
  let sum = 0;
  for (let lag = 1; lag <= lags; lag++) {
    sum += Math.max(0, ofX[lag] as number) * Math.max(0, ofY[lag] as number) * (1 - lag / n);
  }
  return n / (1 + 2 * sum);
}

/** Sum of products of a series with itself over `lags` steps, Bartlett weights. */
function bartlettSum(series: Float64Array, lags: number): number {
  let total = 0;
  for (let lag = 0; lag <= lags; lag++) {
    let sum = 0;
    for (let i = lag; i < series.length; i++) sum += (series[i] as number) * (series[i - lag] as number);
    total += (lag === 0 ? 1 : 2) * (1 - lag / (lags + 1)) * sum;
  }
  return total;
}

/** Variance of the sum of a series of mean zero whose values remember each other. Never negative. */
export function varianceOfSum(series: Float64Array): number {
  const n = series.length;
  if (n < 8) return bartlettSum(series, 0);
  const rho = Math.min(0.97, Math.max(-0.5, lagOneCorrelation(series)));
  const white = new Float64Array(n - 1);
  for (let i = 1; i < n; i++) white[i - 1] = (series[i] as number) - rho * (series[i - 1] as number);
  const spread = bartlettSum(white, bartlettLags(white)) / (1 - rho) ** 2;
  return Math.max(0, (spread * n) / (n - 1));
}
