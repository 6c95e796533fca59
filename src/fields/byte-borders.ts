/**
 * Which borders between bytes a number may cross. Where a number grows past a byte, the bit above the border turns and so does something
 * below it, unless the step was a whole multiple of 256. Where the bit above mostly turns over a still byte, the two are
 * no one number, and no span over that border need be priced.
 */
import type { PayloadRows } from './payload-rows.ts';

/** Turns of the bit above without which nothing is said. */
const TURNS_MIN = 24;
/** Share of them over a still byte from which on the border is closed; values in coarse steps turn both about half the time. */
const STILL_SHARE = 0.8;

/** free: [bytes] bits that moved and nothing else holds. @returns whether a number may go on from a byte to the one `toward` (1, -1) of it */
export function openBorders(rows: PayloadRows, free: Uint8Array): (byte: number, toward: number) => boolean {
  const known = new Map<number, boolean>();
  return (byte, toward) => {
    const key = 2 * byte + (toward > 0 ? 1 : 0);
    let open = known.get(key);
    if (open === undefined) known.set(key, (open = mayCross(rows, free, byte, byte + toward)));
    return open;
  };
}

function mayCross(
  { bytes, data, joined, count }: PayloadRows,
  free: Uint8Array,
  below: number,
  above: number,
): boolean {
  const mask = free[below] as number;
  let turns = 0;
  let overStill = 0;
  for (let row = 1; row < count; row++) {
    const [to, from] = [row * bytes, row * bytes - bytes];
    if (joined[row] === 0 || (((data[to + above] as number) ^ (data[from + above] as number)) & 1) === 0) continue;
    turns++;
    if ((((data[to + below] as number) ^ (data[from + below] as number)) & mask) === 0) overStill++;
  }
  return turns < TURNS_MIN || overStill < STILL_SHARE * turns;
}
