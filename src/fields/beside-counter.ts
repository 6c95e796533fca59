/**
 * Whether a frame goes on beside a counter, or comes again with its value as pages do with their number: the rest of the frame is compared with the
 * frame before and with the last one of the same value.
 */
import { rawReader, type Placement } from '../frames/bits.ts';
import { BITS_SET } from './bits-set.ts';
import { leftBy } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';

/** [bytes] all bits but those of a counter and of the tags. */
export const restOf = (bytes: number, counter: Placement, tags: readonly Placement[]): Uint8Array =>
  leftBy(new Uint8Array(bytes).fill(0xff), [counter, ...tags]);

const COMPARED_ROWS = 4000;

/**
 * Whether the rest of the frame differs less from the frame before than from the last one with the same value here: so it is beside a counter. Where the
 * same value brings like content again, it may be the number of a page.
 */
export function goesOnBeside(rows: PayloadRows, counter: Placement, tags: readonly Placement[]): boolean {
  const rest = restOf(rows.bytes, counter, tags);
  const read = rawReader(counter);
  const differing = (a: number, b: number): number => {
    let bits = 0;
    for (let byte = 0; byte < rows.bytes; byte++)
      bits += BITS_SET[(rows.data[a * rows.bytes + byte]! ^ rows.data[b * rows.bytes + byte]!) & rest[byte]!]!;
    return bits;
  };
  const lastOf = new Map<number, number>();
  let [fromLast, fromBefore] = [0, 0];
  for (let row = 0; row < Math.min(rows.count, COMPARED_ROWS); row++) {
    const value = read(rows.data, row * rows.bytes);
    const last = lastOf.get(value);
    lastOf.set(value, row);
    if (last === undefined || last === row - 1) continue;
    fromLast += differing(row, last);
    fromBefore += differing(row, row - 1);
  }
  return fromBefore <= fromLast;
}
