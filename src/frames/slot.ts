/**
 * The frames of one stream while they are collected: a chain of blocks that never regrow, and the
 * contiguous, sorted columns made of them at the end. Sorting is a natural merge of the ascending
 * runs that are there already: nothing to do for an ordered file, linear for two ordered halves.
 */
const FIRST_BLOCK = 64;
const LARGEST_BLOCK = 8192;

export interface Block {
  readonly capacity: number;
  readonly stride: number;
  count: number;
  readonly timeUs: Float64Array;
  readonly arrival: Uint32Array;
  readonly payload: Uint8Array;
  readonly lengths: Uint8Array;
  fdFlags: Uint8Array | null;
}

export interface Columns {
  readonly timeUs: Float64Array;
  readonly arrival: Uint32Array;
  readonly stride: number;
  readonly payload: Uint8Array;
  readonly lengths: Uint8Array;
  readonly fdFlags: Uint8Array | null;
}

function makeBlock(capacity: number, stride: number): Block {
  return {
    capacity,
    stride,
    count: 0,
    timeUs: new Float64Array(capacity),
    arrival: new Uint32Array(capacity),
    payload: new Uint8Array(capacity * stride),
    lengths: new Uint8Array(capacity),
    fdFlags: null,
  };
}

export class Slot {
  count = 0;
  firstUs = Number.NaN;
  lastUs = Number.NaN;
  lastLength = 0;
  private block: Block | null = null;
  private readonly blocks: Block[] = [];

  append(timeUs: number, arrival: number, payload: Uint8Array, at: number, length: number, fdFlags: number): void {
    let block = this.block;
    if (block === null || block.count === block.capacity || length > block.stride) block = this.nextBlock(length);
    const row = block.count++;
    block.timeUs[row] = timeUs;
    block.arrival[row] = arrival;
    block.lengths[row] = length;
    const target = row * block.stride;
    for (let i = 0; i < length; i++) block.payload[target + i] = payload[at + i] as number;
    if (fdFlags !== 0) (block.fdFlags ??= new Uint8Array(block.capacity))[row] = fdFlags;
    if (this.count++ === 0) this.firstUs = timeUs;
    this.lastUs = timeUs;
    this.lastLength = length;
  }

  /** The least instant; Infinity where there are no frames. */
  earliest(): number {
    let least = Infinity;
    for (const { timeUs, count } of this.blocks) {
      for (let i = 0; i < count; i++) if ((timeUs[i] as number) < least) least = timeUs[i] as number;
    }
    return least;
  }

  /** Adds `byUs` to every frame whose arrival lies in from..to (to exclusive). Only before `columns`. */
  shift(from: number, to: number, byUs: number): void {
    for (const { timeUs, arrival, count } of this.blocks) {
      if (count === 0 || (arrival[count - 1] as number) < from || (arrival[0] as number) >= to) continue;
      for (let i = firstAtLeast(arrival, count, from); i < count && (arrival[i] as number) < to; i++)
        timeUs[i]! += byUs;
    }
  }

  /** The instants of the frames just before and just after an arrival rank; NaN where there is none. */
  around(arrivalRank: number): readonly [number, number] {
    let before = Number.NaN;
    for (const { timeUs, arrival, count } of this.blocks) {
      if (count === 0) continue;
      const row = firstAtLeast(arrival, count, arrivalRank);
      if (row < count) return [row > 0 ? (timeUs[row - 1] as number) : before, timeUs[row] as number];
      before = timeUs[count - 1] as number;
    }
    return [before, Number.NaN];
  }

  /** Least and greatest instant of the frames whose arrival lies in from..to; [Infinity, -Infinity] without any. */
  span(from: number, to: number): readonly [number, number] {
    let least = Infinity;
    let greatest = -Infinity;
    for (const { timeUs, arrival, count } of this.blocks) {
      if (count === 0 || (arrival[count - 1] as number) < from || (arrival[0] as number) >= to) continue;
      for (let i = firstAtLeast(arrival, count, from); i < count && (arrival[i] as number) < to; i++) {
        least = Math.min(least, timeUs[i] as number);
        greatest = Math.max(greatest, timeUs[i] as number);
      }
    }
    return [least, greatest];
  }

  /** Counts frames by instant, in equal parts of fromUs..toUs (both included), whose arrival lies in from..to (to exclusive). */
  countInto(counts: Uint32Array, fromUs: number, toUs: number, from: number, to: number): void {
    const partUs = (toUs - fromUs) / counts.length;
    for (const { timeUs, arrival, count } of this.blocks) {
      if (count === 0 || (arrival[count - 1] as number) < from || (arrival[0] as number) >= to) continue;
      for (let i = firstAtLeast(arrival, count, from); i < count && (arrival[i] as number) < to; i++) {
        const us = timeUs[i] as number;
        if (us < fromUs || us > toUs) continue;
        const part = Math.min(counts.length - 1, Math.floor((us - fromUs) / partUs));
        counts[part] = (counts[part] as number) + 1;
      }
    }
  }

  /** Contiguous columns in time order, instants counted from `originUs`. Frees the blocks. */
  columns(originUs: number): Columns {
    const stride = this.blocks.reduce((most, block) => Math.max(most, longest(block)), 1);
    const withFlags = this.blocks.some(({ fdFlags }) => fdFlags !== null);
    const joined = {
      timeUs: new Float64Array(this.count),
      arrival: new Uint32Array(this.count),
      stride,
      payload: new Uint8Array(this.count * stride),
      lengths: new Uint8Array(this.count),
      fdFlags: withFlags ? new Uint8Array(this.count) : null,
    };
    let row = 0;
    for (const block of this.blocks) row = copyBlock(block, joined, row);
    this.blocks.length = 0;
    this.block = null;
    countFrom(originUs, joined.timeUs);
    return sortColumns(joined);
  }

  private nextBlock(length: number): Block {
    const capacity = this.block ? Math.min(this.block.capacity * 2, LARGEST_BLOCK) : FIRST_BLOCK;
    const stride = Math.max(length, this.block?.stride ?? 0);
    this.block = makeBlock(capacity, stride);
    this.blocks.push(this.block);
    return this.block;
  }
}

/** Whole microseconds stay whole; nanosecond stamps keep three decimals without the noise of subtraction. */
function countFrom(originUs: number, timeUs: Float64Array): void {
  for (let i = 0; i < timeUs.length; i++) {
    const us = (timeUs[i] as number) - originUs;
    timeUs[i] = us === Math.floor(us) ? us : Math.round(us * 1000) / 1000;
  }
}

function longest({ lengths, count }: Block): number {
  let most = 0;
  for (let i = 0; i < count; i++) if ((lengths[i] as number) > most) most = lengths[i] as number;
  return most;
}

function copyBlock(block: Block, into: Columns, row: number): number {
  const { count, stride } = block;
  into.timeUs.set(block.timeUs.subarray(0, count), row);
  into.arrival.set(block.arrival.subarray(0, count), row);
  into.lengths.set(block.lengths.subarray(0, count), row);
  if (block.fdFlags) into.fdFlags?.set(block.fdFlags.subarray(0, count), row);
  if (stride === into.stride) into.payload.set(block.payload.subarray(0, count * stride), row * stride);
  else {
    const width = Math.min(stride, into.stride);
    for (let i = 0; i < count; i++) {
      for (let byte = 0; byte < width; byte++) {
        into.payload[(row + i) * into.stride + byte] = block.payload[i * stride + byte] as number;
      }
    }
  }
  return row + count;
}

function firstAtLeast(values: Uint32Array, count: number, least: number): number {
  let low = 0;
  let high = count;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((values[middle] as number) < least) low = middle + 1;
    else high = middle;
  }
  return low;
}

function sortColumns(columns: Columns): Columns {
  const order = stableOrder(columns.timeUs);
  if (order === null) return columns;
  const { stride } = columns;
  const payload = new Uint8Array(columns.payload.length);
  order.forEach((from, to) => payload.set(columns.payload.subarray(from * stride, (from + 1) * stride), to * stride));
  return {
    stride,
    payload,
    timeUs: Float64Array.from(order, (row) => columns.timeUs[row] as number),
    arrival: Uint32Array.from(order, (row) => columns.arrival[row] as number),
    lengths: Uint8Array.from(order, (row) => columns.lengths[row] as number),
    fdFlags: columns.fdFlags && Uint8Array.from(order, (row) => columns.fdFlags?.[row] as number),
  };
}

/** The rows in ascending order, equal values in their old order; null where they are in order already. */
export function stableOrder(values: Float64Array): Uint32Array | null {
  let bounds = ascendingRuns(values);
  if (bounds.length <= 2) return null;
  let from = Uint32Array.from(values, (_value, row) => row);
  let to = new Uint32Array(values.length);
  while (bounds.length > 2) {
    const merged = [0];
    for (let i = 0; i + 1 < bounds.length; i += 2) {
      const end = bounds[Math.min(i + 2, bounds.length - 1)] as number;
      mergeRuns(values, from, to, bounds[i] as number, bounds[i + 1] as number, end);
      merged.push(end);
    }
    bounds = merged;
    [from, to] = [to, from];
  }
  return from;
}

/** Starts of the ascending runs, and the length at the end. */
function ascendingRuns(values: Float64Array): number[] {
  const bounds = [0];
  for (let i = 1; i < values.length; i++) if ((values[i] as number) < (values[i - 1] as number)) bounds.push(i);
  bounds.push(values.length);
  return bounds;
}

function mergeRuns(
  values: Float64Array,
  from: Uint32Array,
  to: Uint32Array,
  start: number,
  middle: number,
  end: number,
): void {
  let left = start;
  let right = middle;
  for (let at = start; at < end; at++) {
    const takeLeft =
      left < middle &&
      (right >= end || (values[from[left] as number] as number) <= (values[from[right] as number] as number));
    to[at] = from[takeLeft ? left++ : right++] as number;
  }
}
