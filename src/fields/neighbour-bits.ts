/**
 * Whether two bits side by side belong to one value, by the rows in which both move. Flags are thrown by different things: apart from rows in
 * which a whole module changes, two of them hardly ever move together, unless one thing throws both and they always do. Of one value, the
 * rarer bit often moves only where the other does: by a carry, or from state to state. The price of a span knows when it moves and what in front of
 * it moves then, but takes any share of moves in company as likely as any other; that is made good here.
 */
import { nextBit, type ByteOrder } from '../frames/bits.ts';
import { hasBit } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';

/** A bit that moves in more rows than this share is a number's, and moves with any other. */
const SELDOM_SHARE = 0.2;
/** Moves of the rarer bit from which on it is no longer few. */
const FEW = 2;
const MANY = 4;

/**
 * log2 of how often such moves come between bits of one value against two, of once, two or three, and more moves of the rarer bit (four makers of
 * simulated vehicles, 2070 pairs of bits and 1090, rounded).
 */
const NEVER = [-2, -2.9, -4] as const;
const ALWAYS = [3, 1.5, 0] as const;
const HELD = 4;
const HELD_ALIKE = 3;
/** Of the moves of two that one thing throws so many are of both, where it throws them often. */
const NEARLY_ALWAYS = 0.8;

export interface Meetings {
  /** How often the rarer and the commoner of two bits moved. */
  readonly rarer: number;
  readonly commoner: number;
  /** How often both did, alike and in opposite ways. */
  readonly alike: number;
  readonly opposed: number;
}

/** Bits in favour of one value. What now goes together and now does not may be either: flags that one thing throws, and each by itself too. */
export function onenessOf({ rarer, commoner, alike, opposed }: Meetings): number {
  if (rarer === 0) return 0;
  const both = alike + opposed;
  const often = rarer < FEW ? 0 : rarer < MANY ? 1 : 2;
  if (both === 0) return NEVER[often];
  if (both >= NEARLY_ALWAYS * commoner && (both === commoner || often === 2)) return ALWAYS[often];
  if (both === rarer) return opposed > 0 ? HELD : HELD_ALIKE;
  return 0;
}

/** For each bit of these (byte * 8 + bit) the next above it, in one order of bytes, that moves. */
function nextAbove(free: Uint8Array, at: number, order: ByteOrder): number {
  let next = nextBit(at, 1, order);
  while (next >= 0 && next < free.length * 8 && !hasBit(free, next)) next = nextBit(next, 1, order);
  return next >= 0 && next < free.length * 8 ? next : -1;
}

export interface NeighbourBits {
  /** [bytes * 8] bits in favour of one value over each bit and the next above it that moves. */
  readonly little: Float64Array;
  readonly big: Float64Array;
}

/** sudden: [rows] as `suddenRows` gives them: such rows say nothing. O(rows + moves) for each pair of bits. */
export function neighbourBits(rows: PayloadRows, free: Uint8Array, sudden: Uint8Array): NeighbourBits {
  const { bytes, data, count, joined } = rows;
  // For each bit the rows in which it moved, and whether it rose.
  const moves: { rows: number[]; rises: boolean[] }[] = Array.from({ length: bytes * 8 }, () => ({
    rows: [],
    rises: [],
  }));
  const most = SELDOM_SHARE * count;
  for (let row = 1; row < count; row++) {
    if (joined[row] === 0 || sudden[row] !== 0) continue;
    for (let byte = 0, from = row * bytes; byte < bytes; byte++, from++) {
      const value = data[from] as number;
      let differing = (value ^ (data[from - bytes] as number)) & (free[byte] as number);
      for (; differing !== 0; differing &= differing - 1) {
        const bit = 31 - Math.clz32(differing & -differing);
        const own = moves[byte * 8 + bit]!;
        if (own.rows.length > most) continue;
        own.rows.push(row);
        own.rises.push(((value >> bit) & 1) === 1);
      }
    }
  }
  const between = (a: number, b: number): number => {
    const [one, other] = [moves[a]!, moves[b]!];
    const [n, m] = [one.rows.length, other.rows.length];
    if (n > most || m > most) return 0;
    let [alike, opposed] = [0, 0];
    for (let i = 0, j = 0; i < n && j < m;) {
      const by = one.rows[i]! - other.rows[j]!;
      if (by === 0) {
        if (one.rises[i] === other.rises[j]) alike++;
        else opposed++;
      }
      if (by <= 0) i++;
      if (by >= 0) j++;
    }
    return onenessOf({ rarer: Math.min(n, m), commoner: Math.max(n, m), alike, opposed });
  };
  const of = (order: ByteOrder): Float64Array =>
    Float64Array.from({ length: bytes * 8 }, (_, at) => {
      if (!hasBit(free, at)) return 0;
      const next = nextAbove(free, at, order);
      return next < 0 ? 0 : between(at, next);
    });
  return { little: of('little'), big: of('big') };
}

/** All that the neighbours of a span say for it, or against it, counts no more than this: they have seen the same rows. */
const MOST_BITS = 10;

/** Bits in favour of a span that begins at a bit (byte * 8 + bit) and ends with one that moves. */
export function onenessWithin(neighbours: NeighbourBits, lsb: number, length: number, order: ByteOrder): number {
  const of = neighbours[order];
  let sum = 0;
  for (let at = lsb, left = length - 1; left > 0; left--, at = nextBit(at, 1, order)) sum += of[at] as number;
  return Math.max(-MOST_BITS, Math.min(MOST_BITS, sum));
}
