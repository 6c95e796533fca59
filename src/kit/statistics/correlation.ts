/** Product-moment and rank correlation (Pearson 1895, Spearman 1904). */
import { ranks } from './order.ts';

/** A series made ready for being correlated with many others. */
export interface AboutMean {
  /** [n] less the mean. */
  readonly off: Float64Array;
  /** Sum of their squares. */
  readonly squares: number;
}

export function aboutMean(values: ArrayLike<number>): AboutMean {
  const n = values.length;
  let middle = 0;
  for (let i = 0; i < n; i++) middle += (values[i] as number) / n;
  const off = Float64Array.from(values, (value) => value - middle);
  let squares = 0;
  for (let i = 0; i < n; i++) squares += (off[i] as number) * (off[i] as number);
  return { off, squares };
}

/** As `pearson`, of two series of the same length. */
export function correlation(x: AboutMean, y: AboutMean): number {
  if (!(x.squares > 0) || !(y.squares > 0)) return 0;
  let xy = 0;
  for (let i = 0; i < x.off.length; i++) xy += (x.off[i] as number) * (y.off[i] as number);
  return Math.min(1, Math.max(-1, xy / Math.sqrt(x.squares * y.squares)));
}

/** -1..1; 0 where either side does not vary. */
export function pearson(x: ArrayLike<number>, y: ArrayLike<number>): number {
  const n = Math.min(x.length, y.length);
  let meanX = 0;
  let meanY = 0;
  for (let i = 0; i < n; i++) {
    meanX += (x[i] as number) / n;
    meanY += (y[i] as number) / n;
  }
  let xx = 0;
  let yy = 0;
  let xy = 0;
  for (let i = 0; i < n; i++) {
    const dx = (x[i] as number) - meanX;
    const dy = (y[i] as number) - meanY;
    xx += dx * dx;
    yy += dy * dy;
    xy += dx * dy;
  }
  return xx > 0 && yy > 0 ? Math.min(1, Math.max(-1, xy / Math.sqrt(xx * yy))) : 0;
}

/** Fisher's 1915 transform, nearly normal; correlations are taken to be no stronger than `most`, as 1 has none. */
export const fisherOf = (r: number, most: number): number => Math.atanh(Math.max(-most, Math.min(most, r)));

export const spearman = (x: ArrayLike<number>, y: ArrayLike<number>): number => pearson(ranks(x), ranks(y));

/** Correlation of a series with itself one step later; 0 where it does not vary. */
export function lagOneCorrelation(values: ArrayLike<number>): number {
  const n = values.length;
  if (n < 3) return 0;
  let middle = 0;
  for (let i = 0; i < n; i++) middle += (values[i] as number) / n;
  let total = 0;
  let shifted = 0;
  for (let i = 0; i < n; i++) {
    const here = (values[i] as number) - middle;
    total += here * here;
    if (i > 0) shifted += here * ((values[i - 1] as number) - middle);
  }
  return total > 0 ? shifted / total : 0;
}
