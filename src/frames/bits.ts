/**
 * The one bit rule. A bit is { byte, bit }, bit 0 the least significant of its byte. A field is
 * placed by its least significant bit, its length and its order: the next more significant bit is
 * the next higher bit of the byte, then bit 0 of byte + 1 ("little") or of byte - 1 ("big").
 * A value split over distant bits goes on in `continues`, each piece more significant than the last.
 */
import { invariant } from '../kit/outcome.ts';
import type { Stream } from './table.ts';
import { lengthAt } from './table.ts';

export type ByteOrder = 'little' | 'big';
export type Coding = 'unsigned' | 'signed' | 'sign-magnitude' | 'float' | 'bcd' | 'text';

export interface BitAddress {
  readonly byte: number;
  readonly bit: number;
}

export interface Piece {
  readonly lsb: BitAddress;
  readonly length: number;
  readonly order: ByteOrder;
}

export interface Placement extends Piece {
  readonly continues?: readonly Piece[] | undefined;
}

export const PAYLOAD_BYTES_MAX = 64;

export function placementLength(placement: Placement): number {
  return (placement.continues ?? []).reduce((sum, piece) => sum + piece.length, placement.length);
}

function pushPiecePositions(piece: Piece, into: number[]): void {
  let { byte, bit } = piece.lsb;
  for (let i = 0; i < piece.length; i++) {
    into.push(byte * 8 + bit);
    bit++;
    if (bit === 8) {
      bit = 0;
      byte += piece.order === 'little' ? 1 : -1;
    }
  }
}

/**
 * The payload bits of a field, least significant first, each as byte * 8 + bit. Positions outside
 * 0..511 mean that the placement runs off the payload; `fitsIn` says whether.
 */
export function bitPositions(placement: Placement): number[] {
  const positions: number[] = [];
  pushPiecePositions(placement, positions);
  for (const piece of placement.continues ?? []) pushPiecePositions(piece, positions);
  return positions;
}

/** The bit next above (1) or below (-1) of one, in an order; a position outside the payload where there is none. */
export function nextBit(at: number, way: 1 | -1, order: ByteOrder): number {
  const bit = (at & 7) + way;
  if (bit >= 0 && bit <= 7) return at + way;
  return ((at >> 3) + (order === 'little' ? way : -way)) * 8 + (way > 0 ? 0 : 7);
}

/** Whether a piece goes on over the end of the byte in which it begins. */
export const crossesByte = ({ lsb, length }: Piece): boolean => lsb.bit + length > 8;

/** Whether every bit lies within the first `byteLength` bytes. */
export function fitsIn(placement: Placement, byteLength: number): boolean {
  return bitPositions(placement).every((position) => position >= 0 && position < byteLength * 8);
}

/** The least number of payload bytes that a field needs. */
export function bytesNeeded(placement: Placement): number {
  return 1 + Math.max(...bitPositions(placement).map((position) => position >> 3));
}

interface Chunk {
  readonly byte: number;
  readonly shift: number;
  readonly mask: number;
  /** 2 to the number of value bits below this chunk. */
  readonly weight: number;
}

function chunksOf(placement: Placement): Chunk[] {
  const chunks: Chunk[] = [];
  let below = 0;
  for (const piece of [placement, ...(placement.continues ?? [])]) {
    let { byte, bit } = piece.lsb;
    let left = piece.length;
    while (left > 0) {
      const take = Math.min(8 - bit, left);
      chunks.push({ byte, shift: bit, mask: (1 << take) - 1, weight: 2 ** below });
      below += take;
      left -= take;
      bit = 0;
      byte += piece.order === 'little' ? 1 : -1;
    }
  }
  return chunks;
}

/** Reads one field's unsigned raw value from a payload that starts at `offset`. Exact up to 53 bits. */
export type RawReader = (payload: Uint8Array, offset: number) => number;

/** @throws BrokenInvariant for more than 53 bits: use `readRawBig`. */
export function rawReader(placement: Placement): RawReader {
  const bits = placementLength(placement);
  invariant(bits >= 1 && bits <= 53, `a field of ${bits} bits does not fit a number`);
  const chunks = chunksOf(placement);
  if (chunks.length === 1) {
    const { byte, shift, mask } = chunks[0] as Chunk;
    return (payload, offset) => ((payload[offset + byte] as number) >> shift) & mask;
  }
  return (payload, offset) => {
    let value = 0;
    for (let i = 0; i < chunks.length; i++) {
      const chunk = chunks[i] as Chunk;
      value += (((payload[offset + chunk.byte] as number) >> chunk.shift) & chunk.mask) * chunk.weight;
    }
    return value;
  };
}

/** The unsigned raw value of a field of any length. */
export function readRawBig(placement: Placement, payload: Uint8Array, offset = 0): bigint {
  let value = 0n;
  const positions = bitPositions(placement);
  for (let i = positions.length - 1; i >= 0; i--) {
    const position = positions[i] as number;
    const bit = ((payload[offset + (position >> 3)] as number) >> (position & 7)) & 1;
    value = (value << 1n) | BigInt(bit);
  }
  return value;
}

/** Writes an unsigned raw value into a payload; bits beyond the field's length are ignored. */
export function writeRaw(placement: Placement, raw: bigint | number, payload: Uint8Array, offset = 0): void {
  let rest = BigInt(raw);
  for (const position of bitPositions(placement)) {
    const at = offset + (position >> 3);
    const mask = 1 << (position & 7);
    if (rest & 1n) payload[at] = (payload[at] as number) | mask;
    else payload[at] = (payload[at] as number) & ~mask;
    rest >>= 1n;
  }
}

/**
 * Turns an unsigned raw value into the number it stands for, before scale and offset.
 * NaN for BCD digits above 9 and for text, which is not a number.
 */
export function codedValue(raw: number, coding: Coding, length: number): number {
  switch (coding) {
    case 'unsigned':
      return raw;
    case 'signed':
      return raw >= 2 ** (length - 1) ? raw - 2 ** length : raw;
    case 'sign-magnitude':
      return raw >= 2 ** (length - 1) ? -(raw - 2 ** (length - 1)) : raw;
    case 'float':
      return length === 32 ? floatOf(raw) : Number.NaN;
    case 'bcd':
      return bcdOf(raw, length);
    case 'text':
      return Number.NaN;
  }
}

const floatView = new DataView(new ArrayBuffer(8));
function floatOf(raw: number): number {
  floatView.setUint32(0, raw);
  return floatView.getFloat32(0);
}

function bcdOf(raw: number, length: number): number {
  let value = 0;
  let weight = 1;
  let rest = raw;
  for (let left = length; left > 0; left -= 4) {
    const digit = rest % 16;
    if (digit > 9) return Number.NaN;
    value += digit * weight;
    weight *= 10;
    rest = Math.floor(rest / 16);
  }
  return value;
}

/** [count] unsigned raw values of a field; NaN where the frame is too short to hold it. At most 53 bits. */
export function rawColumn(stream: Stream, placement: Placement): Float64Array {
  const read = rawReader(placement);
  const needed = bytesNeeded(placement);
  const out = new Float64Array(stream.count);
  for (let row = 0; row < stream.count; row++) {
    out[row] = lengthAt(stream, row) >= needed ? read(stream.payload, row * stream.stride) : Number.NaN;
  }
  return out;
}
