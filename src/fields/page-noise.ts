/** Bytes of pages that change like random bits: ciphertext and noise, where nothing is claimed. */
import { chainRows, countFlips, type PayloadRows } from './payload-rows.ts';
import type { Leaf } from './page-leaves.ts';

/** Standard deviations from a half by which the flips of a random bit may differ, and rows that a judgement takes. */
const DEVIATIONS = 4.5;
const NOISE_ROWS_MIN = 400;

/** Adds the bytes of which a bit changes other than a random one. */
function keepUnlikely(mask: Uint8Array, flips: Float64Array, pairs: number): void {
  flips.forEach((times, at) => {
    if (Math.abs(times - pairs / 2) > (DEVIATIONS / 2) * Math.sqrt(pairs)) mask[at >> 3] = 0xff;
  });
}

/**
 * [bytes] 0xff but for bytes that are noise on each page and on all together. The low byte of a lively number may look so on one page;
 * what is noise on some pages only is left to the division of those.
 */
export function quietBytes(rows: PayloadRows, leaves: readonly Leaf[]): Uint8Array {
  const { bytes } = rows;
  const all = { pairs: 0, flips: new Float64Array(bytes * 8) };
  const mask = new Uint8Array(bytes);
  for (const leaf of leaves) {
    const page = chainRows(rows, leaf.rows);
    const flips = countFlips(page);
    const pairs = Math.max(0, page.count - 1);
    keepUnlikely(mask, flips, pairs);
    flips.forEach((times, at) => (all.flips[at]! += times));
    all.pairs += pairs;
  }
  keepUnlikely(mask, all.flips, all.pairs);
  return all.pairs < NOISE_ROWS_MIN ? mask.fill(0xff) : mask;
}
