/**
 * How often each payload bit is set and how often it changes: one pass over all frames of a stream.
 * Bits beyond a frame's length count as not set and never as changed.
 */
import type { Stream } from '../frames/table.ts';
import { lengthAt } from '../frames/table.ts';
import type { BitStatistics } from './types.ts';

/** Adds the set bits of `value` to the eight tallies that start at `at`. */
function tally(tallies: Float64Array, at: number, value: number): void {
  for (let rest = value; rest !== 0; rest &= rest - 1) {
    const bit = at + 31 - Math.clz32(rest & -rest);
    tallies[bit] = (tallies[bit] as number) + 1;
  }
}

/**
 * [bytes * 8] tallies turned into shares. Setting and changing are counted by byte value first, so that the
 * cost is one table step a byte; linear in count * stride.
 */
function spread(counts: Float64Array, bytes: number): Float64Array {
  const tallies = new Float64Array(bytes * 8);
  for (let byte = 0; byte < bytes; byte++) {
    for (let value = 1; value < 256; value++) {
      const times = counts[byte * 256 + value] as number;
      if (times === 0) continue;
      const before = tallies.slice(byte * 8, byte * 8 + 8);
      tally(tallies, byte * 8, value);
      for (let bit = 0; bit < 8; bit++) {
        const at = byte * 8 + bit;
        tallies[at] = (before[bit] as number) + ((tallies[at] as number) - (before[bit] as number)) * times;
      }
    }
  }
  return tallies;
}

/** Shares over every frame of the stream, [stride * 8] each. */
export function measureBits(stream: Stream): BitStatistics {
  const { payload, stride, count } = stream;
  const set = new Float64Array(stride * 256);
  const changed = new Float64Array(stride * 256);
  for (let row = 0; row < count; row++) {
    const at = row * stride;
    const shared = row === 0 ? 0 : Math.min(lengthAt(stream, row), lengthAt(stream, row - 1));
    for (let byte = 0; byte < stride; byte++) {
      const value = payload[at + byte] as number;
      const seen = byte * 256 + value;
      set[seen] = (set[seen] as number) + 1;
      if (byte < shared) {
        const differing = byte * 256 + (value ^ (payload[at - stride + byte] as number));
        changed[differing] = (changed[differing] as number) + 1;
      }
    }
  }
  const share = (counts: Float64Array, of: number): number[] =>
    Array.from(spread(counts, stride), (times) => (of > 0 ? times / of : 0));
  return { bytes: stride, frames: count, setShare: share(set, count), changeShare: share(changed, count - 1) };
}
