/**
 * What it saves to read a payload page by page, byte by byte. Two things speak for pages: a byte is nearer to the one that
 * the same page held last than to the one of the frame before; or the step from one page to the next is about the same
 * each time round (cells of one pack rise and fall together, each with its own offset). Both codes are learnt on the
 * first half of the rows and charged on the second, so that what merely happened once saves nothing.
 */
import { BITS_SET } from './bits-set.ts';
import { goesOneWay, offsetGain } from './page-offsets.ts';
import type { PayloadRows } from './payload-rows.ts';

export interface ByteGain {
  /** Bits for the second half of the rows, read frame after frame. */
  readonly plain: number;
  /** Bits saved there by reading page by page, and by knowing each page's usual step; either may be negative. */
  readonly byPage: number;
  readonly byOffset: number;
  /** Whether it still moves now and then from one row of a page to the next: what never does is not held by pages, it goes with them. */
  readonly movesWithin: boolean;
}

/** Share of rows. */
const MOVES_WITHIN = 0.01;
const SIZES = 9;
const SIZE_OF = Uint8Array.from({ length: 256 }, (_, step) => {
  const distance = Math.min(step, 256 - step);
  return distance === 0 ? 0 : 32 - Math.clz32(distance);
});

/** How often bytes step by each size class, and how often each of their bits flips: two codes, the cheaper is charged. */
class StepCode {
  private readonly sizes = new Float64Array(SIZES);
  private readonly steps = new Float64Array(256);
  total = 0;

  add(from: number, to: number): void {
    const size = (to - from) & 0xff;
    this.sizes[SIZE_OF[size] as number]!++;
    this.steps[from ^ to]!++;
    this.total++;
  }

  get moves(): number {
    return this.total - (this.steps[0] as number);
  }

  private flipsOf(bit: number): number {
    let flips = 0;
    for (let value = 0; value < 256; value++) if ((value >> bit) & 1) flips += this.steps[value] as number;
    return flips;
  }

  /** Bits to write what `later` tallied with the rates learnt here. */
  charge(later: StepCode): number {
    let bySize = 0;
    for (let size = 0; size < SIZES; size++) {
      const share = ((this.sizes[size] as number) + 0.5) / (this.total + SIZES / 2);
      bySize += (later.sizes[size] as number) * (size - Math.log2(share));
    }
    let byBit = 0;
    for (let bit = 0; bit < 8; bit++) {
      const share = (this.flipsOf(bit) + 0.5) / (this.total + 1);
      const flips = later.flipsOf(bit);
      byBit -= flips * Math.log2(share) + (later.total - flips) * Math.log2(1 - share);
    }
    return Math.min(bySize, byBit);
  }
}

/** [rows] the row of the same page before each row, -1 where there is none. */
export function rowsBefore(pages: ArrayLike<number>): Int32Array {
  const lastOf = new Map<number, number>();
  return Int32Array.from({ length: pages.length }, (_, row) => {
    const page = pages[row] as number;
    const before = lastOf.get(page) ?? -1;
    lastOf.set(page, row);
    return before;
  });
}

/** mask: bits of the byte that are looked at; asksSteps: whether each page's usual step is asked for. */
export function byteGain(
  rows: PayloadRows,
  byte: number,
  mask: number,
  pages: ArrayLike<number>,
  before: Int32Array,
  asksSteps = true,
): ByteGain {
  const { bytes, data, count } = rows;
  const half = count >> 1;
  const plain = [new StepCode(), new StepCode()] as const;
  const paged = [new StepCode(), new StepCode()] as const;
  const steps = new Float64Array(count);
  for (let row = 1; row < count; row++) {
    const value = (data[row * bytes + byte] as number) & mask;
    const last = (data[(row - 1) * bytes + byte] as number) & mask;
    steps[row] = ((value - last) << 24) >> 24;
    const same = before[row] as number;
    if (same < 0) continue;
    const part = row < half ? 0 : 1;
    plain[part].add(last, value);
    paged[part].add((data[same * bytes + byte] as number) & mask, value);
  }
  const frameAfterFrame = plain[0].charge(plain[1]);
  return {
    plain: frameAfterFrame,
    byPage: frameAfterFrame - paged[0].charge(paged[1]),
    byOffset: !asksSteps || goesOneWay(steps, pages) ? 0 : Math.min(frameAfterFrame, offsetGain(steps, pages)),
    movesWithin: paged[0].moves + paged[1].moves > MOVES_WITHIN * (paged[0].total + paged[1].total),
  };
}

/** Bits for the second half of the rows of one byte, read frame after frame. */
export function plainBits({ bytes, data, count }: PayloadRows, byte: number, mask: number): number {
  const plain = [new StepCode(), new StepCode()] as const;
  for (let row = 1; row < count; row++) {
    const at = row * bytes + byte;
    plain[row < count >> 1 ? 0 : 1].add((data[at - bytes] as number) & mask, (data[at] as number) & mask);
  }
  return plain[0].charge(plain[1]);
}

/** Rows that a first look at a candidate takes. */
const LOOK_ROWS = 800;
/** A byte gains where its bits flip this much less from one row of a page to the next than from frame to frame. */
const FLIP_SHARE = 0.95;
/** Bytes but `apart` whose open bits flip less when read page by page, and how many flips less: a cheap first look. */
export function fewerFlips(
  rows: PayloadRows,
  open: Uint8Array,
  apart: number,
  pages: ArrayLike<number>,
): { bytes: number; flips: number } {
  const { bytes, data } = rows;
  const count = Math.min(rows.count, LOOK_ROWS);
  const before = rowsBefore(Array.from({ length: count }, (_, row) => pages[row] as number));
  const fewer = { bytes: 0, flips: 0 };
  open.forEach((mask, byte) => {
    if (mask === 0 || byte === apart) return;
    let plain = 0;
    let paged = 0;
    for (let row = 1; row < count; row++) {
      const same = before[row] as number;
      if (same < 0) continue;
      const value = data[row * bytes + byte] as number;
      plain += BITS_SET[(value ^ (data[(row - 1) * bytes + byte] as number)) & mask] as number;
      paged += BITS_SET[(value ^ (data[same * bytes + byte] as number)) & mask] as number;
    }
    if (paged >= FLIP_SHARE * plain) return;
    fewer.bytes++;
    fewer.flips += plain - paged;
  });
  return fewer;
}
