/** Payload bits as one byte mask a byte. */
import { bitPositions, type Piece, type Placement } from '../frames/bits.ts';
import { BITS_SET } from './bits-set.ts';

/** Takes a placement's bits out of a mask; bits beyond the payload are passed over. */
export function claim(mask: Uint8Array, placement: Placement): void {
  for (const position of bitPositions(placement)) {
    if (position >= 0 && position < mask.length * 8) mask[position >> 3]! &= ~(1 << (position & 7));
  }
}

/** [bytes] the mask without the bits of some placements. */
export function leftBy(mask: Uint8Array, placements: Iterable<Placement>): Uint8Array {
  const left = mask.slice();
  for (const placement of placements) claim(left, placement);
  return left;
}

/** [bytes] the mask of some bits, each as byte * 8 + bit. */
export function maskOf(bytes: number, positions: Iterable<number>): Uint8Array {
  const mask = new Uint8Array(bytes);
  for (const at of positions) mask[at >> 3]! |= 1 << (at & 7);
  return mask;
}

/** From the lowest to the highest bit set of a byte's mask that is not 0. */
export function pieceOver(byte: number, mask: number): Piece {
  const bit = 31 - Math.clz32(mask & -mask);
  return { lsb: { byte, bit }, length: 32 - Math.clz32(mask) - bit, order: 'little' };
}

/** Whether a bit (byte * 8 + bit) is in the mask; one beyond the payload is not. */
export const hasBit = (mask: Uint8Array, at: number): boolean => (((mask[at >> 3] ?? 0) >> (at & 7)) & 1) === 1;

/** Whether every bit of a placement is in the mask. */
export function holds(mask: Uint8Array, placement: Placement): boolean {
  return bitPositions(placement).every((at) => hasBit(mask, at));
}

/** How many bits are in the mask. */
export const bitsIn = (mask: Uint8Array): number => mask.reduce((bits, byte) => bits + BITS_SET[byte]!, 0);

/** [bytes] bits that are in both masks. */
export const both = (a: Uint8Array, b: Uint8Array): Uint8Array => a.map((bits, byte) => bits & (b[byte] as number));

/** [bytes] bits of the first mask that are not in the second. */
export const less = (a: Uint8Array, b: Uint8Array): Uint8Array => a.map((bits, byte) => bits & ~(b[byte] as number));

/** [bytes] bits that are in one mask or the other. */
export const either = (a: Uint8Array, b: Uint8Array): Uint8Array => a.map((bits, byte) => bits | (b[byte] as number));
