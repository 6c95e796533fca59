/** Stamps that start over at a round period: seconds of a minute, times of day, counters of so many bits. */
import { type Run, STEP_BACK_US } from './clock-watch.ts';

const SECOND = 1e6;
/** In microseconds, with what they are for a person. */
const PERIODS: readonly (readonly [number, string])[] = [
  [SECOND, 'second'],
  [60 * SECOND, 'minute'],
  [65.536 * SECOND, '65.536 s, a counter of 16 bits'],
  [1000 * SECOND, '1000 s'],
  [3600 * SECOND, 'hour'],
  [2 ** 32, '4294.97 s, a counter of 32 bits'],
  [43_200 * SECOND, '12 hours'],
  [86_400 * SECOND, 'day'],
  [2 ** 32 * 1000, '49.7 days, a counter of 32 bits'],
];

/**
 * The period, where every step back of the bus goes from just below a multiple of it to just above
 * zero and no stamp exceeds it. `baseUs` is what instants count from.
 */
export function findWrap(runs: readonly Run[], baseUs: number): { periodUs: number; words: string } | null {
  const found = PERIODS.find(([periodUs]) => wrapsAt(runs, baseUs, periodUs));
  return found ? { periodUs: found[0], words: `stamps start over every ${found[1]}; the turns were added` } : null;
}

function wrapsAt(runs: readonly Run[], baseUs: number, periodUs: number): boolean {
  if (runs.some((run) => run.firstUs + baseUs < 0 || run.greatestUs + baseUs > periodUs)) return false;
  let turns = 0;
  for (let i = 1; i < runs.length; i++) {
    const [before, run] = [runs[i - 1], runs[i]] as [Run, Run];
    const step = run.firstUs - before.endUs;
    if (Math.abs(step) < STEP_BACK_US) continue;
    const usualGap = (before.greatestUs - before.firstUs) / Math.max(1, before.frames);
    const room = Math.min(periodUs * 0.1, Math.max(periodUs * 0.02, 20 * usualGap));
    const isTurn = Math.abs(step + periodUs) < room;
    if (isTurn) turns++;
    else if (step < 0) return false;
  }
  return turns > 0;
}
