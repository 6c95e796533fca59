/**
 * Selectors: a field whose value decides what other bits mean. Found because conditioning on it makes the rest cheap: from
 * one frame to the next the payload jumps from page to page, from one frame of a page to the next of the same page
 * it hardly moves. The gain is counted in bits, by the entropy of each bit's flips in both readings.
 */
import type { Piece, Placement } from '../frames/bits.ts';
import { bitPositions, rawReader } from '../frames/bits.ts';
import { claim } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';

export interface SelectorFinding extends Piece {
  /** Values seen, ascending. */
  readonly values: readonly number[];
  /** [bytes] mask of the bits whose meaning it decides. */
  readonly paged: Uint8Array;
  /** Share of the description of those bits that conditioning saves, 0..1. */
  readonly saved: number;
  /** Bits saved over the rows looked at. */
  readonly gain: number;
}

const VALUES_MAX = 64;
/** Each page must have come this often on average. */
const VISITS_MIN = 5;
const SAVED_MIN = 0.12;
const GAIN_MIN = 150;
/** A bit counts as paged where conditioning saves this share of its description. */
const BIT_SAVED_MIN = 0.1;
/** In or beside a byte with paged bits, a bit that changes this often from frame to frame is paged too: noise saves nothing. */
const RESTLESS_SHARE = 0.2;

const entropy = (share: number): number =>
  share <= 0 || share >= 1 ? 0 : -share * Math.log2(share) - (1 - share) * Math.log2(1 - share);

function visits(values: Uint8Array): Map<number, number> {
  const times = new Map<number, number>();
  for (const value of values) times.set(value, (times.get(value) ?? 0) + 1);
  return times;
}

/** [rows] values of a span within one byte. */
function readSmall(rows: PayloadRows, { lsb, length }: Piece): Uint8Array {
  const values = new Uint8Array(rows.count);
  const mask = (1 << length) - 1;
  for (let row = 0; row < rows.count; row++)
    values[row] = ((rows.data[row * rows.bytes + lsb.byte] as number) >> lsb.bit) & mask;
  return values;
}

/**
 * Share of rows whose value is the one that usually follows on the value before: pages take turns by a list, while the
 * low bits of a measured value do not. Values that stand still are no turns.
 */
function turnsShare(values: Uint8Array): number {
  const follows = new Uint32Array(256 * 256);
  for (let row = 1; row < values.length; row++) follows[(values[row - 1] as number) * 256 + (values[row] as number)]!++;
  let asUsual = 0;
  for (let from = 0; from < 256; from++) {
    let most = 0;
    for (let to = 0; to < 256; to++) if (to !== from) most = Math.max(most, follows[from * 256 + to] as number);
    asUsual += most;
  }
  return asUsual / Math.max(1, values.length - 1);
}

/** [bytes * 8] share of rows in which a bit differs from the last row with the same value; `same` counts such rows. */
function flipShares(rows: PayloadRows, values: Uint8Array | null): { shares: Float64Array; pairs: number } {
  const { bytes, data, count } = rows;
  const flips = new Float64Array(bytes * 8);
  const lastOf = new Int32Array(256).fill(-1);
  let pairs = 0;
  for (let row = 0; row < count; row++) {
    const value = values ? (values[row] as number) : 0;
    const before = lastOf[value] as number;
    lastOf[value] = row;
    if (before < 0) continue;
    pairs++;
    for (let byte = 0; byte < bytes; byte++) {
      let rest = (data[row * bytes + byte] as number) ^ (data[before * bytes + byte] as number);
      for (; rest; rest &= rest - 1) flips[byte * 8 + 31 - Math.clz32(rest & -rest)]!++;
    }
  }
  return { shares: flips.map((times) => times / Math.max(1, pairs)), pairs };
}

function* candidates(bytes: number, free: Uint8Array): Generator<Piece> {
  for (let byte = 0; byte < bytes; byte++) {
    const moved = free[byte] as number;
    for (let bit = 0; bit < 8; bit++) {
      if (((moved >> bit) & 1) === 0) continue;
      for (let length = 1; bit + length <= 8; length++) {
        if ((moved >> (bit + length - 1)) & 1) yield { lsb: { byte, bit }, length, order: 'little' };
      }
    }
  }
}

/** A counter's bits and how many values it runs through. */
export interface CounterBits extends Placement {
  readonly min: number;
  readonly max: number;
}

const valuesOf = (counter: CounterBits): number => counter.max - counter.min + 1;

/** Whether two placements share some but not all of their bits. */
function cutsInto(candidate: Piece, counter: CounterBits): boolean {
  const own = bitPositions(candidate);
  const shared = bitPositions(counter).filter((at) => own.includes(at)).length;
  return shared > 0 && !(shared === counter.length && shared === candidate.length);
}

/** Bits open to paging, given how many pages there are: a counter that runs through more values than that is no content of them. */
function openFor(open: Uint8Array, counters: readonly CounterBits[], pages: number): Uint8Array {
  const left = open.slice();
  for (const counter of counters) if (valuesOf(counter) > pages) claim(left, counter);
  return left;
}

/** A plain counter makes an unsolved checksum look paged; only more content than a checksum holds speaks for pages. */
const looksLikeGuard = (values: number): boolean => values >= 8 && isPowerOrOneLess(values);
const isPowerOrOneLess = (values: number): boolean => (values & (values - 1)) === 0 || (values & (values + 1)) === 0;

/** Two values take turns easily: they must do so nearly always and for long. */
const TWO_TURNS_MIN = 0.95;
const TWO_ROWS_MIN = 200;

function judge(
  rows: PayloadRows,
  candidate: Piece,
  allOpen: Uint8Array,
  counters: readonly CounterBits[],
  plain: Float64Array,
): SelectorFinding | null {
  const values = readSmall(rows, candidate);
  const times = visits(values);
  if (times.size < 2 || times.size > VALUES_MAX || rows.count < VISITS_MIN * times.size) return null;
  if (counters.some((counter) => valuesOf(counter) >= times.size && cutsInto(candidate, counter))) return null;
  const turns = turnsShare(values);
  if (turns < TURNS_MIN || (times.size === 2 && (turns < TWO_TURNS_MIN || rows.count < TWO_ROWS_MIN))) return null;
  const open = openFor(allOpen, counters, times.size);
  const { shares, pairs } = flipShares(rows, values);
  const own = new Set(bitPositions(candidate));
  const paged = new Uint8Array(rows.bytes);
  let before = 0;
  let after = 0;
  let movingBits = 0;
  for (let at = 0; at < rows.bytes * 8; at++) {
    if ((((open[at >> 3] as number) >> (at & 7)) & 1) === 0 || own.has(at)) continue;
    const [free, bound] = [entropy(plain[at] as number), entropy(shares[at] as number)];
    if (free === 0 || bound > (1 - BIT_SAVED_MIN) * free) continue;
    paged[at >> 3] = (paged[at >> 3] as number) | (1 << (at & 7));
    before += free * pairs;
    after += bound * pairs;
    movingBits++;
  }
  const gain = before - after - times.size * movingBits;
  const touched = Array.from(paged, (bits, byte) => (bits | (paged[byte - 1] ?? 0) | (paged[byte + 1] ?? 0)) !== 0);
  for (let at = 0; at < rows.bytes * 8; at++) {
    const isOpen = ((open[at >> 3] as number) >> (at & 7)) & 1;
    const besidePaged = touched[at >> 3] && (plain[at] as number) > RESTLESS_SHARE;
    if (isOpen && besidePaged && !own.has(at)) paged[at >> 3] = (paged[at >> 3] as number) | (1 << (at & 7));
  }
  if (gain < GAIN_MIN || gain < SAVED_MIN * before || movingBits < 3) return null;
  const bytesPaged = paged.reduce((sum, bits) => sum + (bits === 0 ? 0 : 1), 0);
  if (looksLikeGuard(times.size) && bytesPaged < 3) return null;
  return { ...candidate, values: [...times.keys()].sort((a, b) => a - b), paged, saved: 1 - after / before, gain };
}

/** Rows on which candidates are compared. */
const SELECTOR_ROWS = 2500;
/** Of candidates about as good the one with fewest values, then the first in the payload: the others hold content of the pages. */
const AS_GOOD = 0.9;

/**
 * The selector of the rows, or null. open: [bytes] bits that may be paged or hold a selector (they move, no
 * checksum holds them).
 */
export function findSelector(
  rows: PayloadRows,
  open: Uint8Array,
  counters: readonly CounterBits[],
): SelectorFinding | null {
  const count = Math.min(rows.count, SELECTOR_ROWS);
  const part: PayloadRows = { ...rows, count, data: rows.data.subarray(0, count * rows.bytes) };
  const { shares } = flipShares(part, null);
  const found: SelectorFinding[] = [];
  for (const candidate of candidates(rows.bytes, open)) {
    const judged = judge(part, candidate, open, counters, shares);
    if (judged) found.push(judged);
  }
  if (found.length === 0) return null;
  const most = Math.max(...found.map((finding) => finding.gain));
  const good = found.filter((finding) => finding.gain >= AS_GOOD * most);
  return good.sort((a, b) => a.values.length - b.values.length || a.lsb.byte - b.lsb.byte)[0] as SelectorFinding;
}
/** Share of rows in which the next page comes when and as it usually does. */
const TURNS_MIN = 0.75;

/** [rows] value of a selector. */
export function selectorValues(rows: PayloadRows, selector: Placement): Float64Array {
  const read = rawReader(selector);
  const values = new Float64Array(rows.count);
  for (let row = 0; row < rows.count; row++) values[row] = read(rows.data, row * rows.bytes);
  return values;
}
