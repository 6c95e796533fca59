/**
 * The payloads an analysis works on: rows of equal length, with a mark where a row does not follow directly on the
 * one before. Heavy steps read a bounded sample of them: blocks of consecutive rows spread over the capture, plus
 * every place where a seldom-moving bit moved, so that a switch thrown twice in an hour is not missed.
 */
import { BITS_SET } from './bits-set.ts';
import type { Placement } from '../frames/bits.ts';
import type { Stream } from '../frames/table.ts';
import { bitsIn } from './mask.ts';

export interface PayloadRows {
  readonly bytes: number;
  readonly count: number;
  /** [count * bytes] row-major. */
  readonly data: Uint8Array;
  /** [count] 1 where the row directly follows the row before it. */
  readonly joined: Uint8Array;
}

const follows = (count: number): Uint8Array => {
  const joined = new Uint8Array(count).fill(1);
  if (count > 0) joined[0] = 0;
  return joined;
};

/** The frames of the stream's most frequent length; shares the stream's memory where no frame differs. */
export function rowsOfStream(stream: Stream): PayloadRows {
  const { count, stride, length: bytes, payload, lengths } = stream;
  if (!lengths && stride === bytes) return { bytes, count, data: payload, joined: follows(count) };
  const kept: number[] = [];
  for (let row = 0; row < count; row++) if (!lengths || lengths[row] === bytes) kept.push(row);
  const data = new Uint8Array(kept.length * bytes);
  kept.forEach((row, to) => data.set(payload.subarray(row * stride, row * stride + bytes), to * bytes));
  return { bytes, count: kept.length, data, joined: follows(kept.length) };
}

/** Rows picked by ascending number; a row stays joined only to its direct predecessor. */
export function pickRows(rows: PayloadRows, picked: readonly number[] | Uint32Array): PayloadRows {
  const { bytes } = rows;
  const data = new Uint8Array(picked.length * bytes);
  const joined = new Uint8Array(picked.length);
  for (let to = 0; to < picked.length; to++) {
    const row = picked[to] as number;
    data.set(rows.data.subarray(row * bytes, row * bytes + bytes), to * bytes);
    joined[to] = to > 0 && picked[to - 1] === row - 1 ? (rows.joined[row] as number) : 0;
  }
  return { bytes, count: picked.length, data, joined };
}

/** Rows picked by ascending number, each taken to follow on the one picked before: the frames of one page. */
export function chainRows(rows: PayloadRows, picked: readonly number[] | Uint32Array): PayloadRows {
  return { ...pickRows(rows, picked), joined: follows(picked.length) };
}

/** At most so many rows, in blocks spread evenly; each row is taken to follow on the one before it. */
export function blocksOf(rows: PayloadRows, limit: number, blocks: number): PayloadRows {
  if (rows.count <= limit) return rows;
  const chosen = new Uint8Array(rows.count);
  addBlocks(rows, limit, blocks, chosen);
  const picked: number[] = [];
  for (let row = 0; row < rows.count; row++) if (chosen[row]) picked.push(row);
  return chainRows(rows, picked);
}

/** [bytes] bits that changed between any two rows that follow each other, and how often each did. */
export function countFlips(rows: PayloadRows): Float64Array {
  const { bytes, data, joined, count } = rows;
  const byValue = new Uint32Array(bytes * 256);
  for (let row = 1; row < count; row++) {
    if (joined[row] === 0) continue;
    const at = row * bytes;
    for (let byte = 0; byte < bytes; byte++) {
      const differing = (data[at + byte] as number) ^ (data[at - bytes + byte] as number);
      if (differing !== 0) byValue[byte * 256 + differing] = (byValue[byte * 256 + differing] as number) + 1;
    }
  }
  const flips = new Float64Array(bytes * 8);
  for (let byte = 0; byte < bytes; byte++) {
    for (let value = 1; value < 256; value++) {
      const times = byValue[byte * 256 + value] as number;
      if (times === 0) continue;
      for (let bit = 0; bit < 8; bit++)
        if ((value >> bit) & 1) flips[byte * 8 + bit] = (flips[byte * 8 + bit] as number) + times;
    }
  }
  return flips;
}

/** [bytes] mask of the bits that were not the same in every row. */
export function movedMask(rows: PayloadRows): Uint8Array {
  const { bytes, data, count } = rows;
  const moved = new Uint8Array(bytes);
  for (let at = 0; at < count * bytes; at += bytes) {
    for (let byte = 0; byte < bytes; byte++) {
      moved[byte] = (moved[byte] as number) | ((data[at + byte] as number) ^ (data[byte] as number));
    }
  }
  return moved;
}

/**
 * How many repeats of a payload are kept: enough to see how long values are held and how seldom they move. Where a run is cut short something
 * moves next; that must be told from no fewer rows than it takes to say so, or whatever moves alone would seem foretold.
 */
const REPEATS_KEPT = 47;

/** Thins out long standstills: of rows that equal the row before in every bit of `mask`, the first few in a run stay. */
export function thinRepeats(rows: PayloadRows, mask: Uint8Array): PayloadRows {
  const { bytes, data, joined, count } = rows;
  const kept: number[] = [];
  const keptJoined: number[] = [];
  let broken = 0;
  let repeats = 0;
  for (let row = 0; row < count; row++) {
    const at = row * bytes;
    if (joined[row] === 0) broken = 1;
    let differs = row === 0 || broken === 1;
    for (let byte = 0; byte < bytes && !differs; byte++) {
      differs = (((data[at + byte] as number) ^ (data[at - bytes + byte] as number)) & (mask[byte] as number)) !== 0;
    }
    repeats = differs ? 0 : repeats + 1;
    if (repeats > REPEATS_KEPT) continue;
    kept.push(row);
    keptJoined.push(broken === 1 ? 0 : 1);
    broken = 0;
  }
  return { ...pickRows(rows, kept), joined: Uint8Array.from(keptJoined) };
}

/**
 * The values of a placement of up to 16 bits, in one piece, made of its bytes in the direction of its order.
 * @param into [rows] where they go; wide enough for them
 */
export function readShort<Values extends Uint8Array | Uint32Array>(
  { bytes, data, count }: PayloadRows,
  { lsb, length, order }: Placement,
  into: Values,
): Values {
  const mask = 2 ** length - 1;
  const held = Math.ceil((lsb.bit + length) / 8);
  const to = order === 'big' ? -1 : 1;
  for (let row = 0, at = lsb.byte; row < count; row++, at += bytes) {
    let value = data[at] as number;
    if (held > 1) value |= (data[at + to] as number) << 8;
    if (held > 2) value |= (data[at + 2 * to] as number) << 16;
    into[row] = (value >> lsb.bit) & mask;
  }
  return into;
}

/** A bit moves seldom if it does so in less than this share of rows. */
export const SELDOM_SHARE = 0.04;

/** [bytes] mask of the bits that move, but seldom. */
export function seldomMask(rows: PayloadRows): Uint8Array {
  const mask = new Uint8Array(rows.bytes);
  countFlips(rows).forEach((times, at) => {
    if (times > 0 && times < SELDOM_SHARE * rows.count) mask[at >> 3]! |= 1 << (at & 7);
  });
  return mask;
}

const SUDDEN_BITS = 5;
const SUDDEN_SHARE = 0.2;
/** In `suddenRows`: nearly all that moved fell from one to zero, as where fillings of all ones end. */
export const WAKING = 2;
const WAKING_SHARE = 0.8;

/**
 * [rows] 1 where a large part of all seldom-moving bits moves at once: a module changes its mode, or wakes (`WAKING`), and everything it
 * says changes from "no data" to values. Such rows say nothing about what belongs together.
 */
export function suddenRows(rows: PayloadRows): Uint8Array {
  const { bytes, data, count } = rows;
  const mask = seldomMask(rows);
  const seldom = bitsIn(mask);
  const least = Math.max(SUDDEN_BITS, SUDDEN_SHARE * seldom);
  const sudden = new Uint8Array(count);
  for (let row = 1; row < count; row++) {
    let moved = 0;
    let fallen = 0;
    for (let byte = 0, at = row * bytes; byte < bytes; byte++, at++) {
      const before = data[at - bytes] as number;
      const differing = ((data[at] as number) ^ before) & (mask[byte] as number);
      moved += BITS_SET[differing] as number;
      fallen += BITS_SET[differing & before] as number;
    }
    if (moved >= least) sudden[row] = fallen >= WAKING_SHARE * moved ? WAKING : 1;
  }
  return sudden;
}

const BLOCKS = 16;
/** A bit that flips less often than this over all rows has each of its flips in the sample. */
const SELDOM = 24;

function addBlocks(rows: PayloadRows, limit: number, blocks: number, chosen: Uint8Array): void {
  const blockLength = Math.floor(limit / blocks);
  for (let block = 0; block < blocks; block++) {
    const start = Math.round(((rows.count - blockLength) * block) / (blocks - 1));
    chosen.fill(1, start, start + blockLength);
  }
}

function addSeldomFlips(rows: PayloadRows, chosen: Uint8Array): void {
  const { bytes, data, joined, count } = rows;
  const flips = countFlips(rows);
  const seldom = new Uint8Array(bytes);
  flips.forEach((times, at) => {
    if (times > 0 && times <= SELDOM) seldom[at >> 3] = (seldom[at >> 3] as number) | (1 << (at & 7));
  });
  for (let row = 1; row < count; row++) {
    if (joined[row] === 0) continue;
    for (let byte = 0; byte < bytes; byte++) {
      const at = row * bytes + byte;
      if (((data[at] as number) ^ (data[at - bytes] as number)) & (seldom[byte] as number))
        chosen.fill(1, row - 1, row + 1);
    }
  }
}

/** Numbers of at most about `limit` rows that show everything the rows show; of all where there are fewer. */
export function sampleNumbers(rows: PayloadRows, limit: number, blocks = BLOCKS): number[] {
  const chosen = new Uint8Array(rows.count);
  if (rows.count <= limit) chosen.fill(1);
  else {
    addBlocks(rows, limit, blocks, chosen);
    addSeldomFlips(rows, chosen);
  }
  const picked: number[] = [];
  for (let row = 0; row < rows.count; row++) if (chosen[row]) picked.push(row);
  return picked;
}

/** At most about `limit` rows that show everything the rows show; all of them where there are fewer. */
export const sampleRows = (rows: PayloadRows, limit: number, blocks = BLOCKS): PayloadRows =>
  rows.count <= limit ? rows : pickRows(rows, sampleNumbers(rows, limit, blocks));
