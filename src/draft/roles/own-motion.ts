/**
 * Whether a follower moves by itself while its leader stays: what is only said again changes once with each change of what it says. What ramps from one
 * setting to the next, or dithers while nothing is changed, is measured or carried out.
 */
import type { Prepared } from './prepared.ts';
import type { Best } from './tie.ts';

/** A rest shorter than this shows nothing, besides the time that the answer takes to settle. */
const REST_US = 600_000;
const SETTLES_CONSTANTS = 5;
const SETTLES_REFRESHES = 2;
/** More changes than one of a frame that came late. */
const CHANGES = 2;

export interface OwnMotion {
  /** Rests of the leader that are long enough, and those in which the follower went on. */
  readonly rests: number;
  readonly stirred: number;
}

export function ownMotionOf(leader: Prepared, follower: Prepared, best: Pick<Best, 'lagUs' | 'constantUs'>): OwnMotion {
  const timesOf = ({ field: { changes, series } }: Prepared): Float64Array =>
    Float64Array.from(changes, (row) => series.timeUs[row] as number);
  const [set, moved] = [timesOf(leader), timesOf(follower)];
  // A setting is a single change, so that all that comes after the first of its answer is motion of its own.
  const settles = leader.goesBySteps
    ? 0
    : best.lagUs + SETTLES_CONSTANTS * best.constantUs + SETTLES_REFRESHES * (leader.refreshUs + follower.refreshUs);
  let [rests, stirred, next] = [0, 0, 0];
  for (let k = 0; k < set.length; k++) {
    const [fromUs, toUs] = [(set[k] as number) + settles, set[k + 1] ?? Number.NEGATIVE_INFINITY];
    if (toUs - fromUs < REST_US) continue;
    rests++;
    let changes = 0;
    while (next < moved.length && (moved[next] as number) <= fromUs) next++;
    for (; next < moved.length && (moved[next] as number) <= toUs; next++) changes++;
    if (changes >= CHANGES) stirred++;
  }
  return { rests, stirred };
}

const STIRRED_LEAST = 4;
const STIRRED_SHARE = 0.4;
export const movesByItself = ({ rests, stirred }: OwnMotion): boolean =>
  stirred >= STIRRED_LEAST && stirred >= STIRRED_SHARE * rests;

/** Changes that pass over a value that it shows elsewhere: what is set does, what is measured coarsely goes through all of them. */
const LEAPS_LEAST = 2;
export function leaps({ field: { series, changes } }: Prepared): boolean {
  const levels = [...new Set(series.value)].sort((a, b) => a - b);
  const place = new Map(levels.map((level, index) => [level, index]));
  const at = (row: number): number => place.get(series.value[row] as number) as number;
  return changes.reduce((n, row) => n + Number(Math.abs(at(row) - at(row - 1)) > 1), 0) >= LEAPS_LEAST;
}
