/**
 * How many steps a series remembers: the truncation of Newey-West errors. The automatic bandwidth
 * is that of Andrews 1991 for Bartlett weights under a first-order autoregression.
 */
import { lagOneCorrelation } from './correlation.ts';

/** Steps to sum autocovariances over, 0..n/4, for a series (usually a regression's scores). */
export function bartlettLags(series: ArrayLike<number>): number {
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
