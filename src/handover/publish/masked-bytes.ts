/** Bits of a payload gathered one by one, as the bytes of a rule. */
import type { MaskedByte } from './types.ts';

/** By byte. */
export type GatheredBits = Map<number, { mask: number; value: number }>;

/** place: byte times 8 plus bit. */
export function setBit(into: GatheredBits, place: number, bit: number): void {
  const byte = place >> 3;
  const own = into.get(byte) ?? { mask: 0, value: 0 };
  own.mask |= 1 << (place & 7);
  own.value |= bit << (place & 7);
  into.set(byte, own);
}

/** In the order of the payload. */
export const maskedBytes = (bits: GatheredBits): readonly MaskedByte[] =>
  [...bits].sort(([one], [other]) => one - other).map(([byte, { mask, value }]) => ({ byte, mask, value }));
