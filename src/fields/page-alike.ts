/**
 * Which pages are one page under several numbers: what one shows goes on from what the other showed last, in every byte. What a page shows is
 * then no further from what the other one showed just before than from what it showed itself a round ago. Bytes are held against each
 * other by how far they are apart, not by their bits: the low byte of a lively value says nothing either way, its high byte tells.
 */
import { both } from './mask.ts';
import { besideSelectors, type Leaf } from './page-leaves.ts';
import { rowsOfLeaves, type PageSample } from './page-sample.ts';
import { gainOverWindows } from './page-windows.ts';

/** By so much more may two pages be apart than each is from itself a round ago. */
const APART_SHARE = 1.25;
/** Pages with fewer rows are not looked at. */
const ROWS_MIN = 4;

interface Distances {
  /** [leaves * bytes] how far a page is from what it showed before. */
  readonly own: Float64Array;
  /** [leaves * leaves * bytes] how far the first is from what the second showed last. */
  readonly other: Float64Array;
}

/** open: [leaves][bytes] bits that nothing else holds. */
function distancesOf({ rows, leafOf, before }: PageSample, open: readonly Uint8Array[]): Distances {
  const { bytes, data } = rows;
  const leaves = open.length;
  const own = new Float64Array(leaves * bytes);
  const other = new Float64Array(leaves * leaves * bytes);
  const last = new Int32Array(leaves).fill(-1);
  const far = (row: number, from: number, byte: number, mask: number): number => {
    const step = ((data[row * bytes + byte] as number) & mask) - ((data[from * bytes + byte] as number) & mask);
    return Math.min(Math.abs(step), 256 - Math.abs(step));
  };
  leafOf.forEach((leaf, row) => {
    if ((before[row] as number) < 0 && row > 0 && rows.joined[row] === 0) last.fill(-1);
    for (let byte = 0; byte < bytes; byte++) {
      const mask = open[leaf]?.[byte] as number;
      if ((before[row] as number) >= 0) own[leaf * bytes + byte]! += far(row, before[row] as number, byte, mask);
      for (let page = 0; page < leaves; page++)
        if (page !== leaf && (last[page] as number) >= 0)
          other[(leaf * leaves + page) * bytes + byte]! += far(row, last[page] as number, byte, mask);
    }
    last[leaf] = row;
  });
  return { own, other };
}

/** Sets of leaves that are one page; each leaf is in one, most of them alone. */
export function leavesAlike(
  sample: PageSample,
  all: readonly Leaf[],
  usable: Uint8Array,
  quiet: Uint8Array,
): readonly (readonly number[])[] {
  const open = all.map((leaf) => both(besideSelectors(usable, leaf), quiet));
  const { own, other } = distancesOf(sample, open);
  const { bytes } = sample.rows;
  const goesOn = (a: number, b: number): boolean => {
    if ((sample.pages[a]?.count ?? 0) < ROWS_MIN || (sample.pages[b]?.count ?? 0) < ROWS_MIN) return false;
    for (let byte = 0; byte < bytes; byte++) {
      const apart =
        (other[(a * all.length + b) * bytes + byte] as number) + (other[(b * all.length + a) * bytes + byte] as number);
      if (apart > APART_SHARE * ((own[a * bytes + byte] as number) + (own[b * bytes + byte] as number))) return false;
    }
    return true;
  };
  const sets: number[][] = [];
  all.forEach((_, leaf) => {
    const set = sets.find((members) => members.every((member) => goesOn(member, leaf)));
    if (set) set.push(leaf);
    else sets.push([leaf]);
  });
  return sets.flatMap((set) => (set.length > 1 && stepByPage(sample, set, open) ? set.map((leaf) => [leaf]) : [set]));
}

/** Whether the step from one of these pages to the next goes by the page: cells of a pack are near each other, and each is its own. */
function stepByPage(sample: PageSample, set: readonly number[], open: readonly Uint8Array[]): boolean {
  const { rows, leafOf } = rowsOfLeaves(sample, new Set(set));
  return gainOverWindows(rows, set.map((leaf) => open[leaf] as Uint8Array).reduce(both), leafOf, [], 1) > 0;
}

/** The leaves of a set as one. */
export function joinLeaves(set: readonly number[], all: readonly Leaf[]): Leaf {
  const members = set.map((leaf) => all[leaf] as Leaf);
  const first = members[0] as Leaf;
  if (members.length === 1) return first;
  return {
    ...first,
    selectors: [...new Set(members.flatMap(({ selectors }) => [...selectors]))],
    rows: members.flatMap(({ rows }) => [...rows]).sort((a, b) => a - b),
  };
}
