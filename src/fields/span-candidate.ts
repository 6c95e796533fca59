/** A span that a payload may hold, with its price, and how its bytes are read. */
import type { ByteOrder, Piece } from '../frames/bits.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { SpanCost } from './span-cost.ts';

export interface Candidate {
  readonly order: ByteOrder;
  readonly lsb: number;
  readonly length: number;
  /** First and last byte, ascending, whatever the order. */
  readonly first: number;
  readonly last: number;
  /** Lowest and highest bit taken in the byte where the span is entered from the left or ends: see `edges`. */
  readonly lowBit: number;
  readonly highBit: number;
  readonly cost: SpanCost;
  /** cost.bits plus the price of the span itself. */
  readonly price: number;
}

/** Where a candidate lies, as the map says it. */
export const pieceOf = ({ lsb, length, order }: Candidate): Piece => ({
  lsb: { byte: lsb >> 3, bit: lsb & 7 },
  length,
  order,
});

/** [count] bytes `lsbByte` and on joined to one number, in the direction of the order. */
export function joinBytes(rows: PayloadRows, lsbByte: number, size: number, order: ByteOrder): Uint32Array {
  const { bytes, data, count } = rows;
  const word = new Uint32Array(count);
  const toward = order === 'little' ? 1 : -1;
  for (let row = 0, at = lsbByte; row < count; row++, at += bytes) {
    let value = 0;
    for (let i = size - 1; i >= 0; i--) value = (value << 8) | (data[at + i * toward] as number);
    word[row] = value;
  }
  return word;
}
