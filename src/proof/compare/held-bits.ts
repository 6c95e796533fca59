/** What the bits of one byte do: which hold still, at what, and which runs of bits belong together because they moved together. */
import type { ByteProfile } from './profile-types.ts';

/** A bit is constant if no more than this share of frames disagrees: a value that is only just being lost. */
const STRAY_SHARE = 0.01;

export interface BitCourse {
  /** Bits that move, and bits that hold one. */
  readonly moving: number;
  readonly ones: number;
}

export const BITS = [0, 1, 2, 3, 4, 5, 6, 7] as const;
export const hasBit = (mask: number, bit: number): boolean => ((mask >> bit) & 1) === 1;
export const bitsIn = (mask: number): number => BITS.filter((bit) => hasBit(mask, bit)).length;

/** Over the settled frames. O(values). */
export function bitCourse({ values, counts, settled }: ByteProfile): BitCourse {
  const set = new Float64Array(8);
  values.forEach((value, at) => {
    for (const bit of BITS) if (hasBit(value, bit)) set[bit] = (set[bit] as number) + (counts[at] as number);
  });
  let [moving, ones] = [0, 0];
  for (const bit of BITS) {
    const share = (set[bit] as number) / Math.max(1, settled);
    if (share > STRAY_SHARE && share < 1 - STRAY_SHARE) moving |= 1 << bit;
    else if (share > 0.5) ones |= 1 << bit;
  }
  return { moving, ones };
}

/** Share of settled frames that held `value` in the bits of `mask`. */
export function shareHolding({ values, counts, settled }: ByteProfile, mask: number, value: number): number {
  let holding = 0;
  values.forEach((each, at) => {
    if ((each & mask) === value) holding += counts[at] as number;
  });
  return holding / Math.max(1, settled);
}

/** Masks of the runs of neighbouring bits within a mask, lowest first. */
export function runsOf(mask: number): number[] {
  const runs: number[] = [];
  let run = 0;
  for (let bit = 0; bit <= 8; bit++) {
    if (bit < 8 && hasBit(mask, bit)) run |= 1 << bit;
    else if (run !== 0) {
      runs.push(run);
      run = 0;
    }
  }
  return runs;
}

/** How far a value of some bits lies outside of all that they had before, as a number; 0 within. */
export function distanceOutside({ values }: ByteProfile, mask: number, value: number): number {
  const shift = Math.log2(mask & -mask);
  const before = Array.from(values, (each) => (each & mask) >> shift);
  const [least, most] = [Math.min(...before), Math.max(...before)];
  const own = value >> shift;
  return Math.max(0, least - own, own - most);
}
