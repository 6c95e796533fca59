/** How many different payloads an identifier sends, and in which frames the payload differs from the one before. */
import { lengthAt, type Stream } from '../frames/table.ts';
import type { Steps } from '../frames/pictures/steps.ts';

const DISTINCT_MAX = 65_536;
const SLOTS = DISTINCT_MAX * 2;
const ROWS_A_STEP = 20_000;

export interface PayloadVariety {
  /** Counted up to DISTINCT_MAX. */
  readonly distinct: number;
  /** [n] 1 where the payload or its length differs from the frame before; the first frame counts as changed. */
  readonly changed: Uint8Array;
}

function samePayload(stream: Stream, a: number, b: number): boolean {
  if (lengthAt(stream, a) !== lengthAt(stream, b)) return false;
  const { payload, stride } = stream;
  for (let i = a * stride, j = b * stride, end = i + stride; i < end; i++, j++) {
    if (payload[i] !== payload[j]) return false;
  }
  return true;
}

/** FNV-1a over the row, its high bits folded down. */
function hashRow(stream: Stream, row: number): number {
  let hash = 0x811c9dc5 ^ lengthAt(stream, row);
  const end = (row + 1) * stream.stride;
  for (let at = row * stream.stride; at < end; at++)
    hash = Math.imul(hash ^ (stream.payload[at] as number), 0x01000193);
  return (hash ^ (hash >>> 15)) >>> 0;
}

/** An open-addressed set of rows by payload. O(n) expected; 512 kB for a large stream. */
export function* payloadVariety(stream: Stream): Steps<PayloadVariety> {
  const slots = Math.min(SLOTS, 2 ** Math.ceil(Math.log2(Math.max(2, stream.count * 2))));
  const rows = new Int32Array(slots).fill(-1);
  const changed = new Uint8Array(stream.count);
  let distinct = 0;
  for (let row = 0; row < stream.count; row++) {
    if (row % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
    if (row > 0 && samePayload(stream, row, row - 1)) continue;
    changed[row] = 1;
    if (distinct >= DISTINCT_MAX) continue;
    let slot = hashRow(stream, row) & (slots - 1);
    while (rows[slot] !== -1 && !samePayload(stream, row, rows[slot] as number)) slot = (slot + 1) & (slots - 1);
    if (rows[slot] === -1) {
      rows[slot] = row;
      distinct++;
    }
  }
  return { distinct, changed };
}
