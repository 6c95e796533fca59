/**
 * How often each payload bit is set and toggles in a run of rows, by table look-up: a byte becomes eight counts in the byte
 * lanes of two words, which are added for up to a block of rows before they are spread out. A pyramid of one level (running
 * sums at every block) answers any run of rows by one subtraction and at most two part blocks.
 */
import type { Stream } from '../table.ts';
import { lengthAt } from '../table.ts';
import type { Steps } from './steps.ts';

/** Rows in a block; below 128 so that the top byte lane of a signed word cannot overflow. */
const BLOCK_ROWS = 64;
const BYTES_A_STEP = 400_000;

const LOW_LANES = new Int32Array(256);
const HIGH_LANES = new Int32Array(256);
for (let value = 0; value < 256; value++) {
  for (let bit = 0; bit < 4; bit++) {
    LOW_LANES[value] = (LOW_LANES[value] as number) | (((value >> bit) & 1) << (8 * bit));
    HIGH_LANES[value] = (HIGH_LANES[value] as number) | (((value >> (bit + 4)) & 1) << (8 * bit));
  }
}

/** Counts of one run of rows: [bytes * 8] each, index byte * 8 + bit. */
export interface BitCounts {
  readonly set: Uint32Array;
  /** Against the row before, also where that row lies before the run; a byte that either row lacks does not toggle. */
  readonly toggled: Uint32Array;
}

export const emptyCounts = (bytes: number): BitCounts => ({
  set: new Uint32Array(bytes * 8),
  toggled: new Uint32Array(bytes * 8),
});

function spread(lanes: number, into: Uint32Array, at: number): void {
  into[at] = (into[at] as number) + (lanes & 0xff);
  into[at + 1] = (into[at + 1] as number) + ((lanes >>> 8) & 0xff);
  into[at + 2] = (into[at + 2] as number) + ((lanes >>> 16) & 0xff);
  into[at + 3] = (into[at + 3] as number) + (lanes >>> 24);
}

/** At most BLOCK_ROWS rows. */
function addBlock(stream: Stream, from: number, to: number, into: BitCounts): void {
  const { payload, stride } = stream;
  const tail = to * stride;
  for (let byte = 0; byte < stride; byte++) {
    let setLow = 0;
    let setHigh = 0;
    let toggledLow = 0;
    let toggledHigh = 0;
    let at = from * stride + byte;
    let before = payload[from > 0 ? at - stride : at] as number;
    for (; at < tail; at += stride) {
      const value = payload[at] as number;
      const change = value ^ before;
      setLow += LOW_LANES[value] as number;
      setHigh += HIGH_LANES[value] as number;
      toggledLow += LOW_LANES[change] as number;
      toggledHigh += HIGH_LANES[change] as number;
      before = value;
    }
    spread(setLow, into.set, byte * 8);
    spread(setHigh, into.set, byte * 8 + 4);
    spread(toggledLow, into.toggled, byte * 8);
    spread(toggledHigh, into.toggled, byte * 8 + 4);
  }
  if (stream.lengths) takeBackLengthChanges(stream, from, to, into);
}

/** Bytes that one of two neighbours lacks read as 0: what they seemed to toggle is taken back. */
function takeBackLengthChanges(stream: Stream, from: number, to: number, into: BitCounts): void {
  for (let row = Math.max(from, 1); row < to; row++) {
    const a = lengthAt(stream, row - 1);
    const b = lengthAt(stream, row);
    for (let byte = Math.min(a, b); byte < Math.max(a, b); byte++) {
      const at = row * stream.stride + byte;
      const change = (stream.payload[at] as number) ^ (stream.payload[at - stream.stride] as number);
      for (let bit = 0; bit < 8; bit++) {
        const index = byte * 8 + bit;
        into.toggled[index] = (into.toggled[index] as number) - ((change >> bit) & 1);
      }
    }
  }
}

/** Adds rows from..to - 1 by looking at each. O(rows * stride). */
function addRows(stream: Stream, from: number, to: number, into: BitCounts): void {
  for (let row = from; row < to; row += BLOCK_ROWS) addBlock(stream, row, Math.min(row + BLOCK_ROWS, to), into);
}

/** Running sums at every BLOCK_ROWS rows: 16 bytes a row for a payload of eight. */
export interface BitPyramid {
  readonly bits: number;
  /** [(blocks + 1) * bits] counts over rows 0..block * BLOCK_ROWS - 1. */
  readonly set: Uint32Array;
  readonly toggled: Uint32Array;
}

export const pyramidBytes = (pyramid: BitPyramid): number => pyramid.set.byteLength + pyramid.toggled.byteLength;

/** O(rows * stride), once a stream. */
export function* bitPyramid(stream: Stream): Steps<BitPyramid> {
  const bits = stream.stride * 8;
  const blocks = Math.floor(stream.count / BLOCK_ROWS);
  const set = new Uint32Array((blocks + 1) * bits);
  const toggled = new Uint32Array((blocks + 1) * bits);
  const counts = emptyCounts(stream.stride);
  const blocksAStep = Math.max(1, Math.floor(BYTES_A_STEP / (BLOCK_ROWS * stream.stride)));
  for (let block = 0; block < blocks; block++) {
    addBlock(stream, block * BLOCK_ROWS, (block + 1) * BLOCK_ROWS, counts);
    set.set(counts.set, (block + 1) * bits);
    toggled.set(counts.toggled, (block + 1) * bits);
    if (block % blocksAStep === blocksAStep - 1) yield;
  }
  return { bits, set, toggled };
}

/** Adds rows from..to - 1, by whole blocks where the run holds some. O(BLOCK_ROWS * stride + bits). */
export function addRun(stream: Stream, pyramid: BitPyramid, from: number, to: number, into: BitCounts): void {
  const first = Math.ceil(from / BLOCK_ROWS);
  const last = Math.floor(to / BLOCK_ROWS);
  if (last <= first) return addRows(stream, from, to, into);
  addRows(stream, from, first * BLOCK_ROWS, into);
  const { bits } = pyramid;
  const low = first * bits;
  const high = last * bits;
  for (let bit = 0; bit < bits; bit++) {
    into.set[bit] =
      (into.set[bit] as number) + (pyramid.set[high + bit] as number) - (pyramid.set[low + bit] as number);
    into.toggled[bit] =
      (into.toggled[bit] as number) + (pyramid.toggled[high + bit] as number) - (pyramid.toggled[low + bit] as number);
  }
  addRows(stream, last * BLOCK_ROWS, to, into);
}
