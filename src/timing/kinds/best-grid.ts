/**
 * Which grid holds a stream best, of one for each likely period, and its period mended where the fit is known to be pulled: by jitter that
 * breaks the phase, and by timers that began anew.
 */
import { MISSING } from '../../kit/missing.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import { fitGrid, STRETCH_ROWS, type Grid } from './grid.ts';
import { periodGuesses, sortedIntervals } from './intervals.ts';
import { median, quantile, robustSd, sortedSampleOf } from '../robust.ts';

/** Jitter beyond this share of the period. */
export const SHAKY = 0.05;
/** Shorter stretches of common phase, on average, give no good slope. */
const STRETCH_FRAMES = 100;
const PACED_FRAMES = 128;

export interface Ticks {
  /** Share of frames that took no tick: extra, or beside the grid. */
  readonly beside: number;
  readonly aFrame: number;
}

export function countTicks({ ticks }: Grid): Ticks {
  let beside = 0;
  let sum = 0;
  for (let row = 1; row < ticks.length; row++) {
    if (ticks[row] === 0) beside++;
    sum += Math.min(50, ticks[row] as number);
  }
  return { beside: beside / ticks.length, aFrame: sum / ticks.length };
}

/**
 * Frames on the grid, less ticks that no frame was found for (else any fine grid would hold everything), less what a phase taken
 * anew too often hides.
 */
function gridScore(grid: Grid): number {
  let ticks = 0;
  for (let row = 1; row < grid.ticks.length; row++) ticks += Math.min(8, grid.ticks[row] as number);
  const filled = Math.min(1, (grid.ticks.length - 1) / Math.max(1, ticks));
  const tightness = 1 / (1 + (4 * grid.jitterUs) / grid.periodUs);
  const whole = 1 / (1 + (20 * grid.stretches) / grid.ticks.length);
  return grid.onGrid * Math.sqrt(filled) * tightness * whole;
}

export function* bestGrid(timeUs: Float64Array, spacing: Float64Array): Steps<Grid | null> {
  let best: Grid | null = null;
  const guesses = periodGuesses(timeUs, spacing);
  yield;
  for (const guess of guesses) {
    const grid = yield* fitGrid(timeUs, guess);
    yield;
    if (!best || gridScore(grid) > gridScore(best)) best = grid;
    yield;
  }
  return best;
}

/** Times less those of their ticks, the phase taken anew every PACED_FRAMES frames: what a broken grid hides. Frames beside it are left out. */
function pacedJitter(timeUs: Float64Array, tickOf: Float64Array, periodUs: number): number {
  const isTick = (row: number): boolean => row === 0 || tickOf[row] !== tickOf[row - 1];
  const residualUs = timeUs.map((us, row) => (isTick(row) ? us - periodUs * (tickOf[row] as number) : MISSING));
  for (let from = 0; from < timeUs.length; from += PACED_FRAMES) {
    const part = residualUs.subarray(from, from + PACED_FRAMES);
    const phase = median(part);
    for (let row = 0; row < part.length; row++) part[row] = (part[row] as number) - phase;
  }
  return robustSd(residualUs);
}

/** Time a tick over many frames at once, the median over the whole stream: how the period of a shaky or often restarted grid shows best. */
export function steadied(grid: Grid, timeUs: Float64Array): Grid {
  const lag = Math.min(PACED_FRAMES, timeUs.length >> 2);
  const broken = grid.stretches > 1 && grid.stretches * STRETCH_FRAMES > timeUs.length;
  if ((grid.jitterUs < SHAKY * grid.periodUs && !broken) || lag < 2) return grid;
  const tickOf = new Float64Array(timeUs.length);
  for (let row = 1; row < timeUs.length; row++) tickOf[row] = (tickOf[row - 1] as number) + (grid.ticks[row] as number);
  const apart = (of: Float64Array, row: number): number => (of[row + lag] as number) - (of[row] as number);
  const each = sortedSampleOf(timeUs.length - lag, (row) => apart(timeUs, row) / Math.max(1, apart(tickOf, row)));
  const periodUs = quantile(each, 0.5);
  if (Math.abs(periodUs / grid.periodUs - 1) > 0.02) return grid;
  return { ...grid, periodUs, jitterUs: pacedJitter(timeUs, tickOf, periodUs) };
}

/** A timer that was started anew now and then pulls the slope; what a few frames take together, at the median, keeps the period. */
const RESTARTS_MOST = 0.1;
const TOGETHER = 4;
const PULLED = 1e-4;
const PULLED_ERRORS = 4;

export function unpulled(grid: Grid, timeUs: Float64Array): Grid {
  const n = timeUs.length;
  const restarts = grid.stretches - 1 - Math.floor(n / STRETCH_ROWS);
  if (restarts < 1 || restarts > RESTARTS_MOST * n || n < 4 * TOGETHER) return grid;
  if (grid.jitterUs > SHAKY * grid.periodUs) return grid;
  const each = sortedIntervals(timeUs, TOGETHER).map((us) => us / Math.max(1, Math.round(us / grid.periodUs)));
  const periodUs = median(each);
  const errorUs = (1.25 * Math.sqrt(TOGETHER) * robustSd(each)) / Math.sqrt(n);
  const off = Math.abs(periodUs - grid.periodUs);
  const isPulled = off > Math.max(PULLED_ERRORS * errorUs, PULLED * grid.periodUs) && off < 0.02 * grid.periodUs;
  return isPulled ? { ...grid, periodUs, jitterUs: robustSd(sortedIntervals(timeUs)) / Math.SQRT2 } : grid;
}
