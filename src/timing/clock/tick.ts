/**
 * Whether stamps count ticks that are no decimal fraction of a second (a watch crystal's 1/32768 s, a timer of 1.024 ms, the 125 us frames
 * of USB 2.0): written in decimals such stamps look fine, yet the distance of any two is a multiple of the tick, but for
 * rounding. Distances of neighbours are held against it, so that no drift and no jump matters.
 */
import { wrapped } from '../wrapped.ts';
import type { Spacings } from './spacings.ts';

export interface Tick {
  readonly tickUs: number;
  /** What has such a tick, for a person. */
  readonly words: string;
  /** Distances that were held against it. */
  readonly n: number;
}

/** Common ticks of timers and adapters, coarse to fine (common practice, no source). */
const TICKS: readonly (readonly [tickUs: number, words: string])[] = [
  [1e6 / 64, '1/64 s, an operating system tick'],
  [1e4, '10 ms'],
  [1e6 / 1024, '1/1024 s'],
  [4096, '4.096 ms'],
  [2048, '2.048 ms'],
  [1024, '1.024 ms'],
  [512, '0.512 ms'],
  [256, '0.256 ms'],
  [250, '0.25 ms'],
  [128, '0.128 ms'],
  [125, '0.125 ms, a USB 2.0 frame'],
  [64, '64 us'],
  [1e6 / 32768, '1/32768 s, a watch crystal'],
  [32, '32 us'],
  [25, '25 us'],
  [16, '16 us'],
  [8, '8 us'],
  [4, '4 us'],
];
/** Distances longer than this are left out: a timer's own error would show. */
const DISTANCE_MOST_US = 1e5;
const DISTANCES_LEAST = 200;
const DISTANCES_MOST = 4000;
/** Nearly all distances are multiples. */
const SHARE_LEAST = 0.995;
/** As if by chance: all of so many distances would lie so near a multiple with this probability at most. */
const CHANCE_LOG = Math.log(1e-9);
const DIFFERENT_LEAST = 4;
/** Rounding of stamps held as doubles. */
const EXACT_US = 1e-3;
/** Ticks of less than so many rounding steps do not show. */
const ROUNDINGS_LEAST = 3;

function usable({ runs }: Spacings): number[] {
  const all = runs.reduce((sum, run) => sum + run.length, 0);
  const every = Math.max(1, Math.floor(all / DISTANCES_MOST));
  const out: number[] = [];
  let at = 0;
  for (const run of runs) {
    for (const us of run) if (at++ % every === 0 && us > 0 && us < DISTANCE_MOST_US) out.push(us);
  }
  return out;
}

/**
 * @param resolutionUs what the decimals of the stamps are multiples of: they are rounded or cut to it
 * Returns null where no tick but that shows.
 */
export function findTick(spacings: readonly Spacings[], resolutionUs: number): Tick | null {
  const distances = spacings.flatMap(usable);
  if (distances.length < DISTANCES_LEAST) return null;
  // Different distances count, not repetitions of one: a lone periodic frame repeats itself.
  const different = new Set(distances.map((us) => Math.round(us / resolutionUs))).size;
  const fits = (tickUs: number, slackUs: number, chance: number): boolean =>
    different * Math.log(Math.min(1, chance)) < CHANCE_LOG &&
    distances.filter((us) => Math.abs(wrapped(us, tickUs)) <= slackUs).length >= SHARE_LEAST * distances.length;
  for (const [tickUs, words] of different >= DIFFERENT_LEAST ? TICKS : []) {
    if (tickUs < ROUNDINGS_LEAST * resolutionUs) continue;
    // Whole multiples as written, or rounded to what is written.
    const isExact = fits(tickUs, EXACT_US, resolutionUs / tickUs);
    const isRounded = fits(tickUs, resolutionUs + EXACT_US, (3 * resolutionUs) / tickUs);
    if (isExact || isRounded) return { tickUs, words, n: distances.length };
  }
  return null;
}
