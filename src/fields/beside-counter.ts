/**
 * Whether a frame goes on beside a counter, or comes again with its value as pages do with their number: the rest of the frame is compared with the
 * frame before and with the last one of the same value.
 */
import { rawReader, type Placement } from '../frames/bits.ts';
import { BITS_SET } from './bits-set.ts';
import { leftBy } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { CounterBits } from './selector-candidates.ts';

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

/** Of the least difference at any other distance, what is left at the distance of one round of a page's number. */
const LEFT_SHARE = 0.6;
const DEVIATIONS = 6;
/** Bytes of a tag, which comes again with the counter over still content, and so tells nothing. */
const TAG_BYTES = 2;
const PAGES_ROWS = 1500;

/**
 * Whether the rest of the frame comes again with this value and at no shorter distance: then this is the number of its pages. A counter beside the number of pages has
 * the shorter round of that one in the rest, or none. Two bytes that tell most are left out, as a tag does the same.
 */
export function isPageNumber(rows: PayloadRows, counter: CounterBits): boolean {
  const { bytes, data } = rows;
  const rest = restOf(bytes, counter, []);
  const round = counter.max - counter.min + 1;
  const count = Math.min(rows.count, PAGES_ROWS);
  const byBytes = (distance: number): number[] => {
    const bits = new Array<number>(bytes).fill(0);
    for (let row = round; row < count; row++)
      for (let byte = 0; byte < bytes; byte++)
        bits[byte]! += BITS_SET[(data[row * bytes + byte]! ^ data[(row - distance) * bytes + byte]!) & rest[byte]!]!;
    return bits;
  };
  const same = byBytes(round);
  for (let distance = 1; distance < round; distance++) {
    const other = byBytes(distance);
    const kept = other.map((_, byte) => byte).sort((a, b) => other[b]! - same[b]! - (other[a]! - same[a]!));
    const sum = (bits: readonly number[]): number => kept.slice(TAG_BYTES).reduce((all, byte) => all + bits[byte]!, 0);
    const [here, there] = [sum(same), sum(other)];
    if (here > LEFT_SHARE * there || there - here < DEVIATIONS * Math.sqrt(there + here + 1)) return false;
  }
  return true;
}
