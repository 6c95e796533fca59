/**
 * A bus that falls asleep wakes as often as the key is turned, and each time modules say "no data" by all ones until they know better.
 * Such rows say nothing about where values lie, and their ends would look like moves that all values make together: behind pauses they
 * are left out, but for one: it is the only sight of a value's whole width.
 */
import type { Stream } from '../frames/table.ts';
import { BITS_SET } from './bits-set.ts';
import { bitsIn } from './mask.ts';
import { pickRows, type PayloadRows } from './payload-rows.ts';

/** An identifier was silent where it did not come for so long, and for so many times its usual interval. */
const PAUSE_US = 500_000;
const PAUSE_INTERVALS = 8;

/** Rows (of those of the usual length) that came behind a pause, ascending. */
export function wakesOf({ timeUs, lengths, length, count }: Stream): readonly number[] {
  const kept: number[] = [];
  for (let at = 0; at < count; at++) if (!lengths || lengths[at] === length) kept.push(timeUs[at] as number);
  if (kept.length < 3) return [];
  const intervals = Float64Array.from(kept.slice(1), (time, before) => time - (kept[before] as number));
  const usual = intervals.toSorted()[intervals.length >> 1] as number;
  const pause = Math.max(PAUSE_US, PAUSE_INTERVALS * usual);
  const wakes: number[] = [];
  intervals.forEach((interval, before) => {
    if (interval > pause) wakes.push(before + 1);
  });
  return wakes;
}

/** So many rows behind a pause at most are looked at for the end of a filling. */
const FILLED_ROWS_MAX = 500;
/** Of the bits that held still behind the pause, so many must have been ones: counters and checksums of the first row may be zero. */
const ONES_SHARE = 0.8;
/** A filling ends where this part of its bits falls at once, and so many bits at least. */
const FALLEN_SHARE = 1 / 3;
const FALLEN_BITS = 5;

/** The row in which a filling that began at `wake` ends; `wake` where there is none. moved: [bytes] bits that ever move. */
function endOfFilling({ bytes, data, count }: PayloadRows, wake: number, moved: Uint8Array): number {
  const ones = moved.map((mask, byte) => mask & (data[wake * bytes + byte] as number));
  const zeros = moved.map((mask, byte) => mask & ~(data[wake * bytes + byte] as number));
  const last = Math.min(count, wake + FILLED_ROWS_MAX);
  for (let row = wake + 1; row < last; row++) {
    const at = row * bytes;
    const held = bitsIn(ones);
    let fallen = 0;
    for (let byte = 0; byte < bytes; byte++)
      fallen += BITS_SET[(ones[byte] as number) & ~(data[at + byte] as number)] as number;
    const isFilled = held >= ONES_SHARE * (held + bitsIn(zeros));
    if (isFilled && fallen >= Math.max(FALLEN_BITS, FALLEN_SHARE * held)) return row;
    for (let byte = 0; byte < bytes; byte++) {
      ones[byte]! &= data[at + byte] as number;
      zeros[byte]! &= ~(data[at + byte] as number);
    }
  }
  return wake;
}

/** Rows in a new order, those of `front` before those of `rest`; each follows on the one before where it did. */
function inFront(rows: PayloadRows, front: readonly number[], rest: readonly number[]): PayloadRows {
  const [first, others] = [pickRows(rows, front), pickRows(rows, rest)];
  const data = new Uint8Array(first.data.length + others.data.length);
  data.set(first.data);
  data.set(others.data, first.data.length);
  const joined = Uint8Array.from([...first.joined, ...others.joined]);
  if (front.length > 0) joined[front.length] = 1;
  return { bytes: rows.bytes, count: front.length + rest.length, data, joined };
}

/**
 * The rows without those in which a module, behind a pause, had no data yet; the rows themselves where there are none. Of the first wake
 * that shows a filling it stays, and stands in front of all rows.
 * moved: [bytes] mask of the bits that ever move.
 */
export function withoutFillings(rows: PayloadRows, wakes: readonly number[], moved: Uint8Array): PayloadRows {
  const fillings = wakes
    .map((wake) => ({ wake, end: endOfFilling(rows, wake, moved) }))
    .filter(({ wake, end }) => end > wake);
  if (fillings.length === 0) return rows;
  const isFilled = new Uint8Array(rows.count);
  for (const { wake, end } of fillings) isFilled.fill(1, wake, end);
  const isFilledFirst = endOfFilling(rows, 0, moved) > 0;
  const { wake, end } = fillings[0] as (typeof fillings)[number];
  const front = isFilledFirst ? [] : Array.from({ length: end - wake }, (_, at) => wake + at);
  const kept = Array.from({ length: rows.count }, (_, row) => row).filter((row) => isFilled[row] === 0);
  return inFront(rows, front, kept);
}
