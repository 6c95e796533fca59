/**
 * Whether a stream's phase walks: a timer that starts anew with every frame adds each frame's lateness to all that follow, and then neither
 * rate nor phase are a clock's. On a grid, lateness is forgotten by the next tick. Told apart by how second differences of the strays
 * grow with the distance over which they are taken: not at all on a grid, by its root for a walk (D. W. Allan, "Statistics of
 * atomic frequency standards", 1966).
 */
import { robustSd } from '../robust.ts';
import type { ClockTrack } from './clock-track.ts';

/** Distance in ticks: so far that a walk shows, and no longer than a clock takes to change its rate, microseconds. */
const TICKS = [4, 64] as const;
const STEADY_US = 4_000_000;
const DIFFERENCES_LEAST = 40;
/** Spread over the longer distance, over that from one tick to the next. */
const WALKS = 1.6;
/** So many differences tell a spread. */
const LOOKED_AT = 4000;

/** Second differences of the strays over so many rows, of frames that the bus took at once. */
function secondDifferences({ strayUs, fromRow, toRow }: ClockTrack, isClear: RowTest, over: number): Float64Array {
  const all = toRow - fromRow - 2 * over;
  const every = Math.max(1, Math.ceil(all / LOOKED_AT));
  const out: number[] = [];
  for (let row = fromRow; row < toRow - 2 * over; row += every) {
    if (!isClear(row) || !isClear(row + over) || !isClear(row + 2 * over)) continue;
    const second = (strayUs[row + 2 * over] as number) - 2 * (strayUs[row + over] as number) + (strayUs[row] as number);
    if (!Number.isNaN(second)) out.push(second);
  }
  return Float64Array.from(out);
}

type RowTest = (row: number) => boolean;

/**
 * @param isClear of which rows the bus took the frame at once: waits for others come in slow waves and look like a walk
 * @returns false where too few frames tell. Cost: a sample
 */
export function isWalking(track: ClockTrack, isClear: RowTest): boolean {
  const ticks = Math.floor(STEADY_US / track.nominalUs);
  const over = Math.min(TICKS[1], Math.max(TICKS[0], ticks));
  const [near, far] = [secondDifferences(track, isClear, 1), secondDifferences(track, isClear, over)];
  const isTold = Math.min(near.length, far.length) >= DIFFERENCES_LEAST;
  return isTold && robustSd(far) > WALKS * Math.max(1, robustSd(near));
}
