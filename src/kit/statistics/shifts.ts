/**
 * Circular shifts: the null of two series that have nothing to do with each other, with each one's own
 * autocorrelation and spacing kept.
 */

/** value mod length, in 0..length-1 for negative values too. */
export const wrap = (value: number, length: number): number => ((value % length) + length) % length;

/**
 * Adds a series, read from `start` on in steps of `stride` and wrapping round, onto an accumulator:
 * `into[k] += series[(start + k * stride) mod n]`. Cost: into.length additions, no division inside.
 */
export function addShifted(into: Float64Array, series: ArrayLike<number>, start: number, stride: number): void {
  const n = series.length;
  let at = wrap(start, n);
  for (let k = 0; k < into.length; k++) {
    into[k] = (into[k] as number) + (series[at] as number);
    at += stride;
    if (at >= n) at -= n;
  }
}
