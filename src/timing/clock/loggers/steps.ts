/** Where the second clock was set during the recording by less than a crowd of moments is wide: the difference steps and stays. */
import { median } from '../../robust.ts';
import type { CopiedFrames } from './copied.ts';

const BLOCK = 40;
const BLOCKS_LEAST = 3;
const STEPS_MOST = 8;
/** A step is so many times what blocks stray, and more than gateways' delays change. */
const STRAYS = 8;
const STEP_LEAST_US = 4000;

interface Point {
  readonly bUs: number;
  readonly leftUs: number;
}

const POINTS_MOST = 12_000;

/** All pairs' differences, each less its own median, thinned to POINTS_MOST, in order of time. */
function levelled(pairs: readonly CopiedFrames[]): Point[] {
  const n = pairs.reduce((sum, { aUs }) => sum + aUs.length, 0);
  const every = Math.max(1, n / POINTS_MOST);
  const points = pairs.flatMap(({ aUs, bUs }) => {
    const rows = Array.from({ length: Math.ceil(aUs.length / every) }, (_, i) => Math.floor(i * every));
    const difference = Float64Array.from(rows, (row) => (bUs[row] as number) - (aUs[row] as number));
    const middle = median(difference);
    return rows.map((row, i): Point => ({ bUs: bUs[row] as number, leftUs: (difference[i] as number) - middle }));
  });
  return points.sort((one, other) => one.bUs - other.bUs);
}

/** Instants of the second logger's own time between which no step shows, ascending. O(n log n). */
export function stepsWithin(pairs: readonly CopiedFrames[]): number[] {
  const points = levelled(pairs);
  const blocks = Math.floor(points.length / BLOCK);
  if (blocks < 2 * BLOCKS_LEAST) return [];
  const middles = Float64Array.from({ length: blocks }, (_, i) =>
    median(Float64Array.from(points.slice(i * BLOCK, (i + 1) * BLOCK), ({ leftUs }) => leftUs)),
  );
  const changes = middles.subarray(1).map((us, i) => us - (middles[i] as number));
  const usual = Math.max(1, median(changes.map(Math.abs)));
  const found: number[] = [];
  for (let i = BLOCKS_LEAST; i + BLOCKS_LEAST <= blocks; i++) {
    const before = median(middles.slice(i - BLOCKS_LEAST, i));
    const after = median(middles.slice(i, i + BLOCKS_LEAST));
    const step = Math.abs(after - before);
    if (step < Math.max(STEP_LEAST_US, STRAYS * usual)) continue;
    // The block in which it happened lies between both levels; the sharpest change around is where.
    let at = i;
    for (let j = i - 1; j <= Math.min(blocks - 1, i + 1); j++) {
      const sharpness = (k: number): number => Math.abs((middles[k] as number) - (middles[k - 1] as number));
      if (j >= 1 && sharpness(j) > sharpness(at)) at = j;
    }
    found.push(stepPoint(points, at * BLOCK, before, after));
    i += BLOCKS_LEAST;
    if (found.length >= STEPS_MOST) break;
  }
  return found;
}

/** Within two blocks, the instant that parts the points best: nearer to the level before, nearer to the level after. */
function stepPoint(points: readonly Point[], middle: number, before: number, after: number): number {
  const [from, to] = [Math.max(1, middle - BLOCK), Math.min(points.length, middle + BLOCK)];
  const isAfter = (point: Point): boolean => Math.abs(point.leftUs - after) < Math.abs(point.leftUs - before);
  let best = { at: middle, wrong: Infinity };
  let wrong = points.slice(from, to).filter((point) => !isAfter(point)).length;
  for (let at = from; at < to; at++) {
    if (wrong < best.wrong) best = { at, wrong };
    wrong += isAfter(points[at] as Point) ? 1 : -1;
  }
  const [last, next] = [points[best.at - 1] as Point, points[best.at] ?? (points[best.at - 1] as Point)];
  return (last.bUs + next.bUs) / 2;
}
