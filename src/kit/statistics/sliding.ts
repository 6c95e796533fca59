/** Greatest value in a sliding window, by the running maxima of van Herk 1992 and Gil and Werman 1993: linear in n. */

let scratch = { suffix: new Float64Array(0), prefix: new Float64Array(0) };

/** Two arrays of so many at least, used again by every call: the same length is asked for by the thousand. */
function scratchOf(length: number): typeof scratch {
  if (scratch.suffix.length < length) scratch = { suffix: new Float64Array(length), prefix: new Float64Array(length) };
  return scratch;
}

/**
 * Greatest of `values[k + from .. k + to]` (both included), the series taken as a circle, for every k.
 * @param into [n] receives the maxima; must not be `values`
 * @returns into
 * Cost: 3 n comparisons whatever the window.
 */
export function circularMaximum(values: Float64Array, from: number, to: number, into: Float64Array): Float64Array {
  const n = values.length;
  const width = Math.min(to - from + 1, n);
  const blocks = Math.ceil((n + width - 1) / width) * width;
  const { suffix, prefix } = scratchOf(blocks);
  let at = (((from % n) + n) % n) - 1;
  for (let i = 0; i < blocks; i++) {
    if (++at >= n) at = 0;
    const value = values[at] as number;
    suffix[i] = value;
    const before = i % width !== 0 ? (prefix[i - 1] as number) : value;
    prefix[i] = before > value ? before : value;
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
