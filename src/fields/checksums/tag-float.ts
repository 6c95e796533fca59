/**
 * Doubt where a tag may be the low bits of a 32-bit number with a floating point (IEEE 754): they change like random bits while the exponent beside
 * them moves between sensible sizes.
 */
import type { ByteOrder } from '../../frames/bits.ts';

/** Sizes that a vehicle's quantities have, and the share of payloads that must read so. */
const LEAST = 1e-4;
const MOST = 1e6;
const SENSIBLE_SHARE = 0.99;
const WORD = 4;

const isSensible = (value: number): boolean => value === 0 || (Math.abs(value) >= LEAST && Math.abs(value) <= MOST);

/** Whether the word that begins with a byte, which may lie outside, reads as numbers of sensible size. */
export function isFloat(payloads: readonly Uint8Array[], start: number, order: ByteOrder): boolean {
  if (start < 0 || start + WORD > (payloads[0]?.length ?? 0)) return false;
  const values = payloads.map((payload) =>
    new DataView(payload.buffer, payload.byteOffset + start, WORD).getFloat32(0, order === 'little'),
  );
  return values.filter(isSensible).length >= SENSIBLE_SHARE * values.length;
}

/** Whether bytes `byte` to `byte + bytes - 1`, with those beside that make a word, read as numbers of sensible size. */
export const mayBeFloat = (payloads: readonly Uint8Array[], byte: number, bytes: number): boolean =>
  bytes < WORD && (isFloat(payloads, byte, 'little') || isFloat(payloads, byte + bytes - WORD, 'big'));
