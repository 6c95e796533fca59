/** Spans that may be a selector, and which counters go on whatever the page. */
import { bitPositions, rawReader, crossesByte, type Piece, type Placement } from '../frames/bits.ts';
import type { PayloadRows } from './payload-rows.ts';

/** A counter's bits and how many values it runs through. */
export interface CounterBits extends Placement {
  readonly min: number;
  readonly max: number;
}

/** What counts through fewer values may be a selector, or a page's content; what counts through more goes on whatever the page. */
export const COUNTING_VALUES = 8;
/** Longest selector over a byte border that is looked for. */
const CROSSING_MAX = 5;

/** Whether two placements share some but not all of their bits. Few values in turn may be but a part of the selector's. */
function cutsInto(candidate: Piece, counter: CounterBits): boolean {
  const own = bitPositions(candidate);
  const shared = bitPositions(counter).filter((at) => own.includes(at)).length;
  const isPart = shared === counter.length && counter.max - counter.min + 1 < COUNTING_VALUES;
  return shared > 0 && !isPart && !(shared === counter.length && shared === candidate.length);
}

/** Spans that begin and end with a bit that moved, within a byte or over one border, the first in the payload first; none cuts into a counter. */
export function* selectorCandidates(
  bytes: number,
  free: Uint8Array,
  counters: readonly CounterBits[],
): Generator<Piece> {
  for (const counter of counters) if (counter.length <= 8 && crossesByte(counter)) yield counter;
  for (let byte = 0; byte < bytes; byte++) {
    const moved = free[byte] as number;
    for (let bit = 0; bit < 8; bit++) {
      if (((moved >> bit) & 1) === 0) continue;
      const longest = Math.max(8 - bit, CROSSING_MAX);
      for (let length = 1; length <= longest; length++) {
        const end = byte * 8 + bit + length - 1;
        if ((((free[end >> 3] ?? 0) >> (end & 7)) & 1) === 0) continue;
        const piece: Piece = { lsb: { byte, bit }, length, order: 'little' };
        if (!counters.some((counter) => cutsInto(piece, counter))) yield piece;
      }
    }
  }
}

const CONTENT_SHARE = 0.9;

/**
 * Whether what counts through few values shows the same one whenever a page comes: then it is that page's content, such as
 * the number of a sensor. One that counts further goes on counting whatever the page.
 */
export function isPageContent(rows: PayloadRows, counter: CounterBits, before: Int32Array): boolean {
  const read = rawReader(counter);
  if (counter.max - counter.min + 1 >= COUNTING_VALUES) return false;
  let same = 0;
  let all = 0;
  before.forEach((last, row) => {
    if (last < 0) return;
    all++;
    if (read(rows.data, row * rows.bytes) === read(rows.data, last * rows.bytes)) same++;
  });
  return same >= CONTENT_SHARE * all;
}
