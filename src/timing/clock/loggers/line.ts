/**
 * Offset and drift of one clock against another from frames that a gateway copied. The drift is a robust line through all pairs of
 * identifiers, each about its own level (its delay). The offset lies below every delay of what the first logger heard first, and
 * above every one of what it heard second: a copy never comes before its original. Which is the original shows by its
 * steadier intervals (ways.ts).
 */
import { createRandom } from '../../../kit/random.ts';
import { robustLine } from '../../../kit/statistics/robust-line.ts';
import { quantile } from '../../robust.ts';
import type { CopiedFrames } from './copied.ts';
import { habitOf, type Way } from './ways.ts';

export interface ClockLine {
  /** By which the second clock is ahead at `pivotUs` of its own time. */
  readonly offsetUs: number;
  readonly offsetSeUs: number;
  /** null where copies go one way only, or it does not show which. */
  readonly boundsUs: readonly [number, number] | null;
  /** Seconds a second that the second clock gains. */
  readonly drift: number;
  readonly driftSe: number;
  readonly pivotUs: number;
  readonly n: number;
  /** Copies from the first logger's buses to the second's, the other way, and such whose way does not show. */
  readonly forth: number;
  readonly back: number;
  readonly untold: number;
  /** Whether copies are sent on as their originals come, rather than at the gateway's own ticks; false where it does not show. */
  readonly follows: boolean;
  /** Robust standard deviation of what the line leaves. */
  readonly scatterUs: number;
}

/** What is assumed of crystals before anything is measured, seconds a second: so a short overlap says no wild drift. */
const DRIFT_PRIOR = 100e-6;
/**
 * Least delay of a gateway that is seen in one direction only, and how far off that guess may be (common practice, no source): one that passes
 * frames on as they come, and one that looks at its own ticks.
 */
const DELAY = { follows: { us: 2000, seUs: 2000 }, ticks: { us: 5000, seUs: 3000 } } as const;
/** Delays of a gateway that looks at its ticks may wander by so much unseen: its clock slides past the sender's. */
const WANDER_US = 10_000;
/** How fast a sender's clock and a gateway's slide past each other, seconds a second: crystals of 20 ppm each. */
const SLIDE = 30e-6;
const POINTS_MOST = 4000;
/** Extremes of so many frames are left out: a stamp may be wrong. */
const EXTREME = 0.01;
const SEED = 'clock lines';

interface Points {
  readonly xS: Float64Array;
  readonly yUs: Float64Array;
}

/** Differences of all pairs, each less its own median after the slope so far, thinned to POINTS_MOST, in order of time. */
function pooled(pairs: readonly CopiedFrames[], pivotUs: number, slope: number): Points {
  const n = pairs.reduce((sum, { aUs }) => sum + aUs.length, 0);
  const every = Math.max(1, n / POINTS_MOST);
  const points: { x: number; y: number }[] = [];
  for (const { aUs, bUs } of pairs) {
    const rows = Float64Array.from({ length: Math.ceil(aUs.length / every) }, (_, i) => Math.floor(i * every));
    const own = rows.map((row) => (bUs[row] as number) - pivotUs);
    const strays = rows.map((row, i) => (bUs[row] as number) - (aUs[row] as number) - slope * (own[i] as number));
    const level = quantile(Float64Array.from(strays).sort(), 0.5);
    for (let i = 0; i < rows.length; i++) {
      const us = own[i] as number;
      points.push({ x: us / 1e6, y: (strays[i] as number) - level + slope * us });
    }
  }
  points.sort((one, other) => one.x - other.x);
  return { xS: Float64Array.from(points, ({ x }) => x), yUs: Float64Array.from(points, ({ y }) => y) };
}

interface Slope {
  readonly drift: number;
  readonly se: number;
  readonly scatterUs: number;
}

/** Levels shift with the slope where pairs cover different minutes: three rounds settle that. */
function commonSlope(pairs: readonly CopiedFrames[], pivotUs: number): Slope {
  let slope = 0;
  let found: Slope = { drift: 0, se: Infinity, scatterUs: 0 };
  for (let round = 0; round < 3; round++) {
    const { xS, yUs } = pooled(pairs, pivotUs, slope);
    const line = robustLine(xS, yUs, createRandom(SEED), true);
    slope = line.scale / 1e6;
    found = { drift: slope, se: line.scaleSe / 1e6, scatterUs: line.residualSd };
  }
  return found;
}

/** With what is known of crystals, and with what a gateway's ticks may hide. */
function driftOf(slope: Slope, spanUs: number, follows: boolean): Slope {
  const wander = follows ? 0 : Math.min(SLIDE, WANDER_US / spanUs / Math.sqrt(3));
  const se = Math.hypot(slope.se, wander);
  const weight = DRIFT_PRIOR ** 2 / (DRIFT_PRIOR ** 2 + se ** 2);
  return { ...slope, drift: weight * slope.drift, se: Math.sqrt(weight) * se };
}

interface Level {
  readonly way: Way;
  readonly n: number;
  readonly lowUs: number;
  readonly highUs: number;
}

function levelOf(pair: CopiedFrames, way: Way, drift: number, pivotUs: number): Level {
  const { aUs, bUs } = pair;
  const left = aUs.map((us, i) => (bUs[i] as number) - us - drift * ((bUs[i] as number) - pivotUs)).sort();
  const lowUs = quantile(left, EXTREME);
  return { way, n: aUs.length, lowUs, highUs: quantile(left, 1 - EXTREME) };
}

type Offset = Pick<ClockLine, 'offsetUs' | 'offsetSeUs' | 'boundsUs'>;

/** From what copies bound, whichever way they go. */
function offsetOf(levels: readonly Level[], follows: boolean, meanErrorUs: number): Offset {
  const delay = follows ? DELAY.follows : DELAY.ticks;
  const of = (way: Way): Level[] => levels.filter((level) => level.way === way);
  const below = Math.min(...of('forth').map(({ lowUs }) => lowUs));
  const above = Math.max(...of('back').map(({ highUs }) => highUs));
  const withError = (offsetUs: number, doubtUs: number): Omit<Offset, 'boundsUs'> => ({
    offsetUs,
    offsetSeUs: Math.hypot(doubtUs, meanErrorUs),
  });
  if (Number.isFinite(below) && Number.isFinite(above) && above <= below) {
    return { ...withError((below + above) / 2, (below - above) / Math.sqrt(12)), boundsUs: [above, below] };
  }
  const isOneWay = Number.isFinite(below) !== Number.isFinite(above);
  if (isOneWay)
    return { ...withError(Number.isFinite(below) ? below - delay.us : above + delay.us, delay.seUs), boundsUs: null };
  // No way shows, or the two contradict each other: the offset lies within a delay of all that was measured.
  const low = Math.min(...levels.map(({ lowUs }) => lowUs)) - delay.us;
  const high = Math.max(...levels.map(({ highUs }) => highUs)) + delay.us;
  return { ...withError((low + high) / 2, Math.hypot((high - low) / Math.sqrt(12), delay.seUs)), boundsUs: null };
}

/** @param pairs at least one. Cost: O(copied frames). */
export function clockLine(pairs: readonly CopiedFrames[]): ClockLine {
  const ends = pairs.flatMap(({ bUs }) => [bUs[0] as number, bUs[bUs.length - 1] as number]);
  const [fromUs, toUs] = [Math.min(...ends), Math.max(...ends)];
  const pivotUs = (fromUs + toUs) / 2;
  const habits = pairs.map(habitOf);
  const telling = habits.filter(({ follows }) => follows !== null);
  const follows = telling.length > 0 && telling.every((habit) => habit.follows);
  const { drift, se, scatterUs } = driftOf(commonSlope(pairs, pivotUs), toUs - fromUs, follows);
  const levels = pairs.map((pair, i) => levelOf(pair, (habits[i] as { way: Way }).way, drift, pivotUs));
  const count = (way: Way): number => levels.filter((level) => level.way === way).length;
  const n = levels.reduce((sum, level) => sum + level.n, 0);
  return {
    ...offsetOf(levels, follows, scatterUs / Math.sqrt(n)),
    drift,
    driftSe: se,
    pivotUs,
    n,
    forth: count('forth'),
    back: count('back'),
    untold: count('untold'),
    follows,
    scatterUs,
  };
}
