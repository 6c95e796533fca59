/**
 * IEEE 754 floats compared without floating point: their bits, read as sign and magnitude, rise with the value. The key below
 * turns them into unsigned numbers that rise with it. From IEEE 754-2008, clause 3.4 (from memory).
 */
import { u64 } from './text.ts';

const view = new DataView(new ArrayBuffer(8));

function bitsOf(value: number, width: 32 | 64): bigint {
  if (width === 64) view.setFloat64(0, value);
  else view.setFloat32(0, value);
  return width === 64 ? view.getBigUint64(0) : BigInt(view.getUint32(0));
}

function keyOf(value: number, width: 32 | 64): bigint {
  const bits = bitsOf(value, width);
  const top = 1n << BigInt(width - 1);
  return bits & top ? ~bits & (2n * top - 1n) : bits | top;
}

/** Keys of the least and greatest float of this width within the range; both zeros count as zero. */
function keysOf({ min, max }: { min: number; max: number }, width: 32 | 64): { low: bigint; high: bigint } {
  const [lowest, highest] = [min === 0 ? -0 : min, max === 0 ? 0 : max];
  if (width === 64) return { low: keyOf(lowest, 64), high: keyOf(highest, 64) };
  // Rounded to single precision an end may lie beyond the range: then the next float inward is the end.
  const low = keyOf(lowest, 32) + (Math.fround(lowest) < lowest ? 1n : 0n);
  const high = keyOf(highest, 32) - (Math.fround(highest) > highest ? 1n : 0n);
  return { low, high };
}

/** A condition on `order`, the key of the float; floats that are no numbers lie beyond every range. */
export function floatRangeTest(range: { min: number; max: number }, width: 32 | 64): string {
  const { low, high } = keysOf(range, width);
  return `order >= ${u64(low)} && order <= ${u64(high)}`;
}
