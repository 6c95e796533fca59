/** Greatest value in a sliding window, by the two queues of van Herk 1992 and Gil and Werman 1993: linear in n. */
import { wrap } from './shifts.ts';

/**
 * [n] greatest of `values[k + from .. k + to]` (both included, from <= to), the series taken as a circle.
 * Cost: 3 n comparisons whatever the window.
 */
export function circularMaximum(values: Float64Array, from: number, to: number): Float64Array {
  const n = values.length;
  const width = Math.min(to - from + 1, n);
  const padded = n + width - 1;
  const blocks = Math.ceil(padded / width) * width;
  const line = new Float64Array(blocks).fill(Number.NEGATIVE_INFINITY);
  for (let i = 0; i < padded; i++) line[i] = values[wrap(i + from, n)] as number;
  const prefix = Float64Array.from(line);
  for (let i = 1; i < blocks; i++)
    if (i % width !== 0) prefix[i] = Math.max(prefix[i] as number, prefix[i - 1] as number);
  for (let i = blocks - 2; i >= 0; i--) {
    if ((i + 1) % width !== 0) line[i] = Math.max(line[i] as number, line[i + 1] as number);
  }
  return Float64Array.from({ length: n }, (_, k) => Math.max(line[k] as number, prefix[k + width - 1] as number));
}
