/**
 * Circular shifts: the null of two series that have nothing to do with each other, with each one's own
 * autocorrelation and spacing kept.
 */

/** value mod length, in 0..length-1 for negative values too. */
export const wrap = (value: number, length: number): number => ((value % length) + length) % length;

/**
 * Adds a series onto an accumulator of the same length, read from `start` on and wrapping round:
 * `into[k] += series[(start + k) mod n]`. Cost: n additions.
 */
export function addShifted(into: Float64Array, series: Float64Array, start: number): void {
  const n = series.length;
  const first = wrap(start, n);
  const head = n - first;
  for (let k = 0; k < head; k++) into[k] = (into[k] as number) + (series[first + k] as number);
  for (let k = head; k < n; k++) into[k] = (into[k] as number) + (series[k - head] as number);
}
