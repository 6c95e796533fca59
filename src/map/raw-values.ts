/**
 * Raw values as the map writes them (decimal, or a hex string beyond 2^53), payloads as the map writes
 * them ("00 10 FF"), and the fast writer that goes with the bit rule's fast reader.
 */
import { placementLength, rawReader, readRawBig, writeRaw, type Placement } from '../frames/bits.ts';
import { hexDigits } from '../kit/units.ts';

/** Widest field whose raw value a number holds exactly. */
export const NUMBER_BITS = 53;

export type RawValue = number | bigint;

/** "0x1D" or 29 as a bigint. */
export const bigOf = (value: number | string | bigint): bigint => BigInt(value);

/** As the map writes a raw value: decimal up to 2^53, hex string beyond. */
export function writtenRaw(raw: RawValue): number | string {
  if (typeof raw === 'number') return raw;
  return raw <= BigInt(Number.MAX_SAFE_INTEGER) ? Number(raw) : '0x' + raw.toString(16).toUpperCase();
}

/** "00 10 FF" (spaces optional) to bytes; null where it is not whole bytes of hex. */
export function parsePayload(text: string): Uint8Array | null {
  const digits = text.replace(/\s+/g, '');
  if (digits.length % 2 !== 0 || /[^0-9a-fA-F]/.test(digits)) return null;
  return Uint8Array.from({ length: digits.length / 2 }, (_, i) => Number.parseInt(digits.slice(2 * i, 2 * i + 2), 16));
}

/** Bytes as the map writes them: upper-case, spaced. */
export function formatPayload(payload: Uint8Array): string {
  return Array.from(payload, (byte) => hexDigits(byte, 2)).join(' ');
}

/** Reads a field's unsigned raw value: a number up to 53 bits, a bigint beyond. */
export function compileReader(placement: Placement): (payload: Uint8Array, offset: number) => RawValue {
  if (placementLength(placement) <= NUMBER_BITS) return rawReader(placement);
  return (payload, offset) => readRawBig(placement, payload, offset);
}

interface WriteChunk {
  readonly byte: number;
  readonly shift: number;
  readonly mask: number;
}

function writeChunks(placement: Placement): WriteChunk[] {
  const chunks: WriteChunk[] = [];
  for (const piece of [placement, ...(placement.continues ?? [])]) {
    let { byte, bit } = piece.lsb;
    for (let left = piece.length; left > 0;) {
      const take = Math.min(8 - bit, left);
      chunks.push({ byte, shift: bit, mask: (1 << take) - 1 });
      left -= take;
      bit = 0;
      byte += piece.order === 'little' ? 1 : -1;
    }
  }
  return chunks;
}

/**
 * Writes a field's unsigned raw value into a payload and touches no other bit.
 * The value must be within the field's width: bits above it are ignored.
 */
export function compileWriter(placement: Placement): (raw: RawValue, payload: Uint8Array, offset: number) => void {
  if (placementLength(placement) > NUMBER_BITS) {
    return (raw, payload, offset) => writeRaw(placement, raw, payload, offset);
  }
  const chunks = writeChunks(placement);
  return (raw, payload, offset) => {
    let rest = Number(raw);
    for (const { byte, shift, mask } of chunks) {
      const at = offset + byte;
      const part = rest % (mask + 1);
      payload[at] = ((payload[at] as number) & ~(mask << shift)) | (part << shift);
      rest = Math.floor(rest / (mask + 1));
    }
  };
}

/** The bits of a field in one payload byte, as a mask. */
export function maskInByte(positions: readonly number[], byte: number): number {
  return positions.reduce((mask, position) => (position >> 3 === byte ? mask | (1 << (position & 7)) : mask), 0);
}
