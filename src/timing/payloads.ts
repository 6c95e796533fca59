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

/** A stream's payloads in the widest units that rows divide into. */
interface Units {
  readonly values: Uint8Array | Uint32Array;
  /** Units of a row. */
  readonly each: number;
}

function unitsOf({ payload, stride }: Stream): Units {
  if (stride % 4 !== 0 || payload.byteOffset % 4 !== 0) return { values: payload, each: stride };
  const values = new Uint32Array(payload.buffer, payload.byteOffset, payload.length >> 2);
  return { values, each: stride >> 2 };
}

function samePayload(stream: Stream, { values, each }: Units, a: number, b: number): boolean {
  if (stream.lengths && lengthAt(stream, a) !== lengthAt(stream, b)) return false;
  for (let i = a * each, j = b * each, end = i + each; i < end; i++, j++) if (values[i] !== values[j]) return false;
  return true;
}

/** FNV-1a over the row unit by unit, high bits folded down each time: of words they would else never reach the slot. */
function hashRow(stream: Stream, { values, each }: Units, row: number): number {
  let hash = 0x811c9dc5 ^ lengthAt(stream, row);
  const end = (row + 1) * each;
  for (let at = row * each; at < end; at++) {
    hash = Math.imul(hash ^ (values[at] as number), 0x01000193);
    hash ^= hash >>> 15;
  }
  return hash >>> 0;
}

/** An open-addressed set of rows by payload. O(n) expected; 512 kB for a large stream. */
export function* payloadVariety(stream: Stream): Steps<PayloadVariety> {
  const slots = Math.min(SLOTS, 2 ** Math.ceil(Math.log2(Math.max(2, stream.count * 2))));
  const rows = new Int32Array(slots).fill(-1);
  const changed = new Uint8Array(stream.count);
  const units = unitsOf(stream);
  let distinct = 0;
  for (let row = 0; row < stream.count; row++) {
    if (row % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
    if (row > 0 && samePayload(stream, units, row, row - 1)) continue;
    changed[row] = 1;
    if (distinct >= DISTINCT_MAX) continue;
    let slot = hashRow(stream, units, row) & (slots - 1);
    while (rows[slot] !== -1 && !samePayload(stream, units, row, rows[slot] as number)) slot = (slot + 1) & (slots - 1);
    if (rows[slot] === -1) {
      rows[slot] = row;
      distinct++;
    }
  }
  return { distinct, changed };
}
