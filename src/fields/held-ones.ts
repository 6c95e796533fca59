/**
 * Bits that are one in a start-up filling and stay one behind it. Beside bits that left the filling they are rather of the same value than
 * unused, and more so where other unused bits are zeros; so a value that ends at them, with bits beyond that left the filling as well, is dearer.
 */
import { nextBit, type ByteOrder } from '../frames/bits.ts';
import { hasBit } from './mask.ts';
import type { PayloadRows } from './payload-rows.ts';

/** Half of the bits by which unused bits between two values are less likely than none: the value on the other side pays the rest. */
const GAP_BITS = 1.6;
/** The same where unused bits are zeros, and these something that never changes. */
const CONSTANT_BITS = 2.5;
const GAP_MAX = 7;

export interface HeldOnes {
  /** [bytes] still bits that are one, and moving ones that begin as one. */
  readonly still: Uint8Array;
  readonly begun: Uint8Array;
  readonly gapBits: number;
}

/** free: [bytes] bits that moved and that nothing else holds; usable: those and the still ones. */
export function heldOnes({ bytes, data, count }: PayloadRows, free: Uint8Array, usable: Uint8Array): HeldOnes {
  const first = count > 0 ? data.subarray(0, bytes) : new Uint8Array(bytes);
  const still = first.map((bits, byte) => bits & (usable[byte] as number) & ~(free[byte] as number));
  const begun = first.map((bits, byte) => bits & (free[byte] as number));
  const hasZeros = usable.some((bits, byte) => (bits & ~(free[byte] as number) & ~(first[byte] as number)) !== 0);
  return { still, begun, gapBits: hasZeros ? CONSTANT_BITS : GAP_BITS };
}

function isGap({ still, begun }: HeldOnes, from: number, way: 1 | -1, order: ByteOrder): boolean {
  let at = nextBit(from, way, order);
  let length = 0;
  for (; length < GAP_MAX && at >= 0 && hasBit(still, at); length++) at = nextBit(at, way, order);
  return length > 0 && at >= 0 && hasBit(begun, at);
}

/** Bits that a value which began as all ones is dearer for the still ones at its ends. lowest, highest: its bits (byte * 8 + bit). */
export const onesBeside = (ones: HeldOnes, lowest: number, highest: number, order: ByteOrder): number =>
  ones.gapBits * ((isGap(ones, lowest, -1, order) ? 1 : 0) + (isGap(ones, highest, 1, order) ? 1 : 0));
