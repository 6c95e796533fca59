/**
 * Which pages show the same value in the same place: what a page shows is nearer to what another one showed last than to what it showed
 * itself a round before, as the other one's is newer. Sets of pages that do so in any byte are looked at as one payload.
 */
import { BITS_SET } from './bits-set.ts';
import type { PageSample } from './page-sample.ts';

/** Bits that must have moved on two pages for them to be held against each other. */
const MOVES_MIN = 8;
/** Share of its own moves by which a page may differ from another that holds the same value; a value that both hold differs half as often. */
const NEAR_SHARE = 0.65;
/** Sets that are looked at, the largest first. */
const SETS_MAX = 4;

interface Nearness {
  /** [leaves] bits by which a page differs from what it showed before. */
  readonly own: Float64Array;
  /** [leaves * leaves] bits by which the first differs from what the second showed last. */
  readonly other: Float64Array;
}

function nearnessOf(
  { rows, leafOf, before }: PageSample,
  leaves: number,
  byte: number,
  free: readonly Uint8Array[],
): Nearness {
  const own = new Float64Array(leaves);
  const other = new Float64Array(leaves * leaves);
  const last = new Int32Array(leaves).fill(-1);
  const valueAt = (row: number): number => rows.data[row * rows.bytes + byte] as number;
  leafOf.forEach((leaf, row) => {
    const isJoined = (before[row] as number) >= 0;
    if (!isJoined && row > 0 && rows.joined[row] === 0) last.fill(-1);
    const mask = free[leaf]?.[byte] as number;
    if (isJoined && mask !== 0) {
      own[leaf]! += BITS_SET[(valueAt(row) ^ valueAt(before[row] as number)) & mask] as number;
      for (let page = 0; page < leaves; page++) {
        const seen = last[page] as number;
        const shared = mask | (free[page]?.[byte] as number);
        if (page !== leaf)
          other[leaf * leaves + page]! += seen < 0 ? 8 : (BITS_SET[(valueAt(row) ^ valueAt(seen)) & shared] as number);
      }
    }
    last[leaf] = row;
  });
  return { own, other };
}

function shareValue({ own, other }: Nearness, leaves: number, a: number, b: number): boolean {
  const [moved, also] = [own[a] as number, own[b] as number];
  if (moved < MOVES_MIN || also < MOVES_MIN) return false;
  const apart = (other[a * leaves + b] as number) + (other[b * leaves + a] as number);
  return apart <= NEAR_SHARE * (moved + also);
}

/** Sets of two leaves and more that show the same in a byte, without all of them. free: [leaves][bytes] open bits that moved on each. */
export function leafSets(sample: PageSample, free: readonly Uint8Array[]): ReadonlySet<number>[] {
  const leaves = free.length;
  const found = new Map<string, Set<number>>();
  for (let byte = 0; byte < sample.rows.bytes; byte++) {
    const nearness = nearnessOf(sample, leaves, byte, free);
    const left = new Set(free.keys());
    for (const leaf of left) {
      const set = new Set([leaf]);
      for (const each of left) if (each > leaf && shareValue(nearness, leaves, leaf, each)) set.add(each);
      set.forEach((each) => left.delete(each));
      if (set.size > 1 && set.size < leaves) found.set([...set].join(), set);
    }
  }
  return [...found.values()].sort((a, b) => b.size - a.size).slice(0, SETS_MAX);
}
