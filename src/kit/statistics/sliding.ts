/** Greatest value in a sliding window, by the running maxima of van Herk 1992 and Gil and Werman 1993: linear in n. */

/**
 * Greatest of `values[k + from .. k + to]` (both included), the series taken as a circle, for every k.
 * @param into [n] receives the maxima; must not be `values`
 * @returns into
 * Cost: 3 n comparisons whatever the window; two scratch arrays of about n.
 */
export function circularMaximum(values: Float64Array, from: number, to: number, into: Float64Array): Float64Array {
  const n = values.length;
  const width = Math.min(to - from + 1, n);
  const blocks = Math.ceil((n + width - 1) / width) * width;
  const suffix = new Float64Array(blocks);
  const prefix = new Float64Array(blocks);
  let at = (((from % n) + n) % n) - 1;
  for (let i = 0; i < blocks; i++) {
    if (++at >= n) at = 0;
    const value = values[at] as number;
    suffix[i] = value;
    const before = prefix[i - 1] as number;
    prefix[i] = i % width !== 0 && before > value ? before : value;
  }
  for (let i = blocks - 2; i >= 0; i--) {
    const after = suffix[i + 1] as number;
    if ((i + 1) % width !== 0 && after > (suffix[i] as number)) suffix[i] = after;
  }
  for (let k = 0; k < n; k++) {
    const a = suffix[k] as number;
    const b = prefix[k + width - 1] as number;
    into[k] = a > b ? a : b;
  }
  return into;
}
