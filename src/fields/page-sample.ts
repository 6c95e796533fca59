/**
 * The rows on which pages are divided: blocks of consecutive rows, and every row at which a bit moves that seldom does on its page.
 * Bounded over all pages together, so that many pages cost no more than few.
 */
import type { Leaf } from './page-leaves.ts';
import { rowsBefore } from './page-gain.ts';
import { pickRows, type PayloadRows } from './payload-rows.ts';

export interface PageSample {
  /** In order of time. */
  readonly rows: PayloadRows;
  /** [rows] the leaf of each, and the row of the same leaf before it where that is the one before in the capture too, or -1. */
  readonly leafOf: Int32Array;
  readonly before: Int32Array;
  /** [leaves] its rows, each following on the one before that is in the capture. */
  readonly pages: readonly PayloadRows[];
}

/** Rows of short payloads, and payload bytes in all for long ones. */
const ROWS_MAX = 3200;
const ROWS_MIN = 1200;
const BYTES_MAX = 40_000;
/** Rows of each page in a block, and blocks. */
const VISITS_A_BLOCK = 12;
const BLOCKS_MAX = 16;
/** A bit that moves less often on its page has each of its moves in the sample, as far as there is room. */
const SELDOM_MOST = 24;
const SELDOM_LEAST = 3;

const limitOf = (bytes: number): number => Math.max(ROWS_MIN, Math.min(ROWS_MAX, Math.floor(BYTES_MAX / bytes)));

function chooseBlocks(count: number, limit: number, pages: number, chosen: Uint8Array): void {
  if (count <= limit) return void chosen.fill(1);
  const blocks = Math.max(1, Math.min(BLOCKS_MAX, Math.floor(limit / (VISITS_A_BLOCK * pages))));
  const length = Math.floor(limit / blocks);
  for (let block = 0; block < blocks; block++) {
    const from = blocks === 1 ? 0 : Math.round(((count - length) * block) / (blocks - 1));
    chosen.fill(1, from, from + length);
  }
}

/** [pages * bytes * 8] how often each bit moves on its page. */
function countMoves(
  { bytes, data, count }: PayloadRows,
  leafOf: Int32Array,
  before: Int32Array,
  pages: number,
): Uint32Array {
  const moves = new Uint32Array(pages * bytes * 8);
  for (let row = 0; row < count; row++) {
    const last = before[row] as number;
    if (last < 0) continue;
    for (let byte = 0; byte < bytes; byte++) {
      let differing = (data[row * bytes + byte] as number) ^ (data[last * bytes + byte] as number);
      const first = ((leafOf[row] as number) * bytes + byte) * 8;
      for (; differing !== 0; differing &= differing - 1) moves[first + 31 - Math.clz32(differing & -differing)]!++;
    }
  }
  return moves;
}

function chooseSeldom(
  rows: PayloadRows,
  leafOf: Int32Array,
  before: Int32Array,
  pages: number,
  limit: number,
  chosen: Uint8Array,
): void {
  const { bytes, data, count } = rows;
  const moves = countMoves(rows, leafOf, before, pages);
  const seldom = Math.max(SELDOM_LEAST, Math.min(SELDOM_MOST, limit / (8 * pages)));
  const masks = new Uint8Array(pages * bytes);
  moves.forEach((times, at) => times > 0 && times <= seldom && (masks[at >> 3]! |= 1 << (at & 7)));
  let room = limit;
  for (let row = 0; row < count && room > 0; row++) {
    const last = before[row] as number;
    if (last < 0) continue;
    const first = (leafOf[row] as number) * bytes;
    let moved = false;
    for (let byte = 0; byte < bytes && !moved; byte++) {
      const differing = (data[row * bytes + byte] as number) ^ (data[last * bytes + byte] as number);
      moved = (differing & (masks[first + byte] as number)) !== 0;
    }
    if (!moved) continue;
    for (const each of [last, row]) {
      if (chosen[each] === 0) room--;
      chosen[each] = 1;
    }
  }
}

/** [leaves] the rows of each leaf. */
function splitRows(sample: PayloadRows, leafOf: Int32Array, before: Int32Array, leaves: number): PayloadRows[] {
  const numbers: number[][] = Array.from({ length: leaves }, () => []);
  leafOf.forEach((leaf, row) => numbers[leaf]?.push(row));
  return numbers.map((own) => {
    const joined = Uint8Array.from(own, (row) => ((before[row] as number) >= 0 ? 1 : 0));
    return { ...pickRows(sample, own), joined };
  });
}

export function samplePages(rows: PayloadRows, leaves: readonly Leaf[]): PageSample {
  const all = new Int32Array(rows.count).fill(-1);
  leaves.forEach((leaf, index) => leaf.rows.forEach((row) => (all[row] = index)));
  const allBefore = rowsBefore(all);
  const limit = limitOf(rows.bytes);
  const chosen = new Uint8Array(rows.count);
  chooseBlocks(rows.count, limit, leaves.length, chosen);
  if (rows.count > limit) chooseSeldom(rows, all, allBefore, leaves.length, limit, chosen);
  const picked: number[] = [];
  const numberIn = new Int32Array(rows.count).fill(-1);
  chosen.forEach((is, row) => {
    if (is && (all[row] as number) >= 0) numberIn[row] = picked.push(row) - 1;
  });
  const sample = pickRows(rows, picked);
  const leafOf = Int32Array.from(picked, (row) => all[row] as number);
  const before = Int32Array.from(picked, (row) => numberIn[allBefore[row] as number] ?? -1);
  return { rows: sample, leafOf, before, pages: splitRows(sample, leafOf, before, leaves.length) };
}

/** The rows of some pages one after the other; a page's first row follows on nothing. */
export function poolPages(pages: readonly PayloadRows[], bytes: number): PayloadRows {
  const count = pages.reduce((sum, page) => sum + page.count, 0);
  const data = new Uint8Array(count * bytes);
  const joined = new Uint8Array(count);
  let row = 0;
  for (const page of pages) {
    data.set(page.data.subarray(0, page.count * bytes), row * bytes);
    joined.set(page.joined, row);
    row += page.count;
  }
  return { bytes, count, data, joined };
}

/** The sampled rows of some leaves in order of time. */
export function rowsOfLeaves(
  { rows, leafOf }: PageSample,
  leaves: ReadonlySet<number>,
): { rows: PayloadRows; leafOf: Int32Array } {
  const own: number[] = [];
  leafOf.forEach((leaf, row) => leaves.has(leaf) && own.push(row));
  const picked = pickRows(rows, own);
  const joined = Uint8Array.from(own, (row, at) => (at > 0 && isUnbroken(rows, own[at - 1] as number, row) ? 1 : 0));
  return { rows: { ...picked, joined }, leafOf: Int32Array.from(own, (row) => leafOf[row] as number) };
}

/** Whether nothing is left out of the sample between two of its rows. */
function isUnbroken({ joined }: PayloadRows, from: number, to: number): boolean {
  for (let row = from + 1; row <= to; row++) if (joined[row] === 0) return false;
  return true;
}
