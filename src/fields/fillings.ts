/**
 * What a capture shows of bits only because modules say "no data" until they know better, at the start and each time the bus wakes. Between
 * those moments such a bit keeps still: when it moves tells nothing of what it belongs to, but it does tell that it is sent with
 * something else in it, and until when. Bits of one value leave a filling together, and none of them before that.
 */
import { bitsIn, both, hasBit, less } from './mask.ts';
import { movedMask, pickRows, type PayloadRows } from './payload-rows.ts';

/** What was seen of the bits that only fillings move. */
export interface Filled {
  /** [bytes] these bits. */
  readonly mask: Uint8Array;
  /** Whether no bit stayed still in fillings that says something else: then they may fill what is no value, too. */
  readonly isWhole: boolean;
  /** One a filling: [bytes * 8] rows from its beginning until a bit first moved; Infinity where it did not. */
  readonly leaving: readonly Float64Array[];
}

/** The rows without fillings, and what these showed besides. */
export interface WithoutFillings {
  readonly rows: PayloadRows;
  readonly filled: Filled;
}

/** So many rows at most, and this part of those until the next wake, a filling lasts. */
const ROWS_MAX = 500;
const SHARE_MAX = 1 / 3;
/** So many bits must leave a filling in the same row, and so many times, lest a switch be taken for one. */
const LEAVING_MIN = 3;
const FILLINGS_MIN = 2;

interface Window {
  readonly from: number;
  /** The first row behind it. */
  readonly until: number;
}

const windowsOf = (count: number, wakes: readonly number[]): Window[] => {
  const starts = [0, ...wakes];
  return starts.map((from, at) => {
    const next = starts[at + 1] ?? count;
    return { from, until: from + Math.min(ROWS_MAX, Math.floor((next - from) * SHARE_MAX)) };
  });
};

/** [bytes] bits that are the same in all rows outside the windows, and what they are. */
function stillOutside(
  { bytes, data, count }: PayloadRows,
  windows: readonly Window[],
): { still: Uint8Array; value: Uint8Array } {
  const value = new Uint8Array(bytes);
  const moved = new Uint8Array(bytes);
  let isFirst = true;
  windows.forEach(({ until }, at) => {
    const end = windows[at + 1]?.from ?? count;
    for (let row = until; row < end; row++) {
      const start = row * bytes;
      if (isFirst) value.set(data.subarray(start, start + bytes));
      isFirst = false;
      for (let byte = 0; byte < bytes; byte++) moved[byte]! |= (data[start + byte] as number) ^ (value[byte] as number);
    }
  });
  return { still: moved.map((bits) => ~bits & 0xff), value };
}

/** [bytes * 8] rows from the beginning of a window until each bit first moved. */
function firstMoves({ bytes, data }: PayloadRows, { from, until }: Window): Float64Array {
  const first = new Float64Array(bytes * 8).fill(Infinity);
  for (let row = from + 1; row < until; row++)
    for (let byte = 0; byte < bytes; byte++) {
      let differing = (data[row * bytes + byte] as number) ^ (data[(row - 1) * bytes + byte] as number);
      for (; differing !== 0; differing &= differing - 1) {
        const at = byte * 8 + 31 - Math.clz32(differing & -differing);
        if (first[at] === Infinity) first[at] = row - from;
      }
    }
  return first;
}

/** Bits that keep still outside the windows and begin this one as something else. */
function heldIn({ bytes, data }: PayloadRows, { from }: Window, still: Uint8Array, value: Uint8Array): Uint8Array {
  return still.map((bits, byte) => bits & ((data[from * bytes + byte] as number) ^ (value[byte] as number)));
}

/** The last row (from the window's beginning) in which so many held bits leave together; 0 where there is none. */
function endOf(first: Float64Array, held: Uint8Array): number {
  const times = new Map<number, number>();
  first.forEach((row, at) => {
    if (row !== Infinity && hasBit(held, at)) times.set(row, (times.get(row) ?? 0) + 1);
  });
  return Math.max(0, ...[...times].filter(([, bits]) => bits >= LEAVING_MIN).map(([row]) => row));
}

interface Filling {
  readonly from: number;
  /** Rows that it lasts. */
  readonly rows: number;
  readonly first: Float64Array;
}

function fillingsIn(rows: PayloadRows, wakes: readonly number[], free: Uint8Array): Filling[] {
  const windows = windowsOf(rows.count, wakes);
  const { still, value } = stillOutside(rows, windows);
  return windows.flatMap((window) => {
    const first = firstMoves(rows, window);
    const end = endOf(first, both(free, heldIn(rows, window, still, value)));
    return end > 0 ? [{ from: window.from, rows: end, first }] : [];
  });
}

/** Whether fillings of ones, or of zeros, left a bit still that says the other. mask: [bytes] bits that only fillings moved; row: any without one. */
function fillsAll(mask: Uint8Array, free: Uint8Array, usable: Uint8Array, row: Uint8Array): boolean {
  const areOnes = 2 * bitsIn(both(mask, row)) < bitsIn(mask);
  const still = less(usable, free);
  return bitsIn(areOnes ? less(still, row) : both(still, row)) === 0;
}

/**
 * wakes: rows behind a pause, ascending. free: [bytes] bits that moved and that nothing else holds; usable: those and the still ones.
 * @returns null where there are not several fillings. O(rows)
 */
export function withoutFilledRows(
  rows: PayloadRows,
  wakes: readonly number[],
  free: Uint8Array,
  usable: Uint8Array,
): WithoutFillings | null {
  if (wakes.length === 0) return null;
  const fillings = fillingsIn(rows, wakes, free);
  if (fillings.length < FILLINGS_MIN) return null;
  const isFilled = new Uint8Array(rows.count);
  for (const { from, rows: lasting } of fillings) isFilled.fill(1, from, from + lasting);
  const kept = Array.from(isFilled.keys()).filter((row) => isFilled[row] === 0);
  const data = pickRows(rows, kept);
  const mask = less(free, movedMask(data));
  const isWhole = fillsAll(mask, free, usable, data.data.subarray(0, rows.bytes));
  return { rows: data, filled: { mask, isWhole, leaving: fillings.map(({ first }) => first) } };
}
