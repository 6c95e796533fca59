/**
 * Rows in which something that seldom moves did move. When a vehicle wakes or changes its mode, many flags and states move
 * in one frame; told in which rows an earlier one moved, a later one costs little more. Only bits in front of a span
 * count as its company, so that each move is paid for once.
 */
import { seldomMask, type PayloadRows } from './payload-rows.ts';

export class Company {
  /** [bytes] mask of the bits that seldom move. */
  private readonly seldom: Uint8Array;
  private readonly made = new Map<number, { rows: Uint8Array; count: number }>();

  constructor(private readonly rows: PayloadRows) {
    this.seldom = seldomMask(rows);
  }

  /** [rows] 1 where a seldom-moving bit moved in a byte before `byte`, or below `bit` in it; and how many rows those are. */
  before(byte: number, bit: number): { rows: Uint8Array; count: number } {
    const key = byte * 8 + bit;
    let found = this.made.get(key);
    if (!found) {
      found =
        bit > 0
          ? this.extend(this.before(byte, 0).rows, byte, this.seldom[byte]! & ((1 << bit) - 1))
          : this.start(byte);
      this.made.set(key, found);
    }
    return found;
  }

  private start(byte: number): { rows: Uint8Array; count: number } {
    if (byte === 0) return { rows: new Uint8Array(this.rows.count), count: 0 };
    return this.extend(this.before(byte - 1, 0).rows, byte - 1, this.seldom[byte - 1] as number);
  }

  private extend(earlier: Uint8Array, byte: number, mask: number): { rows: Uint8Array; count: number } {
    const { bytes, data, joined, count } = this.rows;
    const rows = earlier.slice();
    let marked = 0;
    for (let row = 1; row < count; row++) {
      const at = row * bytes + byte;
      if (joined[row] !== 0 && (((data[at] as number) ^ (data[at - bytes] as number)) & mask) !== 0) rows[row] = 1;
      marked += rows[row] as number;
    }
    return { rows, count: marked };
  }
}
