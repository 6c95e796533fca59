/**
 * In which rows the bits in front of a span moved. When a vehicle wakes or changes its mode, many flags and states move
 * in one frame, and some flags are thrown by one switch; told in which rows an earlier bit moved, a later one costs little
 * more. Only bits in front of a span count as its company, so that each move is paid for once.
 */
import { countFlips, type PayloadRows } from './payload-rows.ts';

/**
 * A bit that moves more often than in this share of rows is no company. Modes, switches and alarms move less; bits of numbers that show the
 * same move more, and one by one they would foretell each other far better than the steps of one number foretell another's.
 */
const COMPANY_SHARE = 0.2;

export class Company {
  /** [bits] how often each bit that is company moved; 0 for the others. */
  readonly times: Float64Array;
  /** Moved company bits of all rows, ascending within a row; a row's begin at `from[row]` and end before `from[row + 1]`. */
  readonly moved: Uint16Array;
  readonly from: Uint32Array;
  private readonly counts = new Map<number, number>();

  constructor(rows: PayloadRows) {
    this.times = countFlips(rows).map((times) => (times < COMPANY_SHARE * rows.count ? times : 0));
    this.moved = new Uint16Array(this.times.reduce((sum, times) => sum + times, 0));
    this.from = new Uint32Array(rows.count + 1);
    this.list(rows);
  }

  private list({ bytes, data, joined, count }: PayloadRows): void {
    const mask = new Uint8Array(bytes);
    this.times.forEach((times, at) => {
      if (times > 0) mask[at >> 3]! |= 1 << (at & 7);
    });
    let end = 0;
    for (let row = 1; row < count; row++) {
      this.from[row] = end;
      if (joined[row] === 0) continue;
      for (let byte = 0, at = row * bytes; byte < bytes; byte++, at++) {
        let differing = ((data[at] as number) ^ (data[at - bytes] as number)) & (mask[byte] as number);
        for (; differing !== 0; differing &= differing - 1)
          this.moved[end++] = byte * 8 + 31 - Math.clz32(differing & -differing);
      }
    }
    this.from[count] = end;
  }

  /** Rows in which any bit of company before `limit` moved. */
  rowsBefore(limit: number): number {
    let rows = this.counts.get(limit);
    if (rows === undefined) {
      rows = 0;
      for (let row = 0; row + 1 < this.from.length; row++) {
        const first = this.from[row] as number;
        if (first < (this.from[row + 1] as number) && (this.moved[first] as number) < limit) rows++;
      }
      this.counts.set(limit, rows);
    }
    return rows;
  }
}
