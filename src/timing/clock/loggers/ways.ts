/**
 * What the intervals of a copied identifier say of the gateway. A gateway that sends on what comes passes the original's jitter on and adds its
 * own: intervals go up and down together, and the copy's stray more. One that looks at its own ticks gives copies
 * its own pace: then neither shows, and its delay may wander unseen.
 */
import { quantile } from '../../robust.ts';
import { wrapped } from '../../wrapped.ts';
import type { CopiedFrames } from './copied.ts';

/** From the first logger's bus to the second's, the other way, or not told. */
export type Way = 'forth' | 'back' | 'untold';

export interface GatewayHabit {
  readonly way: Way;
  /** null where stamps are too coarse to show it. */
  readonly follows: boolean | null;
}

const FRAMES_LEAST = 50;
/** Shares of the changes that the other side has: a gateway that leaves frames out is told by that alone. */
const SHARE_WHOLE = 0.95;
const SHARE_THINNED = 0.8;
/** Variance of intervals: more by this factor is the copy's. */
const STEADIER = 1.5;
/** Share of the steadier side's variance that the other has in common with it. */
const FOLLOWS = 0.5;
/** Variance must exceed that of rounding by as much to show anything. */
const BEYOND_ROUNDING = 1;
/** Robust clip, in median deviations. */
const CLIP = 6;
/** Periodic where intervals stray less than this share of their median. */
const PERIODIC = 0.1;

/** [n - 1] intervals less whole periods; for what is not periodic, less their median. */
function deviations(us: Float64Array): Float64Array {
  const intervals = us.subarray(1).map((value, i) => value - (us[i] as number));
  const periodUs = quantile(Float64Array.from(intervals).sort(), 0.5);
  const beside = intervals.map((value) => value - periodUs * Math.max(1, Math.round(value / periodUs)));
  const stray = quantile(beside.map(Math.abs).sort(), 0.5);
  return periodUs > 0 && stray < PERIODIC * periodUs ? beside : intervals.map((value) => value - periodUs);
}

const STEPS_US = [10_000, 1000, 100, 10, 1];

/** What the stamps of one side are multiples of, but for a shift. */
function stepOf(us: Float64Array): number {
  const [first] = us;
  const isMultiple = (step: number): boolean =>
    us.every((value) => Math.abs(wrapped(value - (first as number), step)) < 0.01);
  return STEPS_US.find(isMultiple) ?? 0;
}

interface Spread {
  readonly a: number;
  readonly b: number;
  readonly both: number;
}

/** Variances and covariance, rows left out in which either is far out. */
function spreadOf(a: Float64Array, b: Float64Array): Spread {
  const limit = (values: Float64Array): number => CLIP * quantile(values.map(Math.abs).sort(), 0.5) + 1;
  const [mostA, mostB] = [limit(a), limit(b)];
  let [aa, bb, ab, n] = [0, 0, 0, 0];
  for (let i = 0; i < a.length; i++) {
    const [one, other] = [a[i] as number, b[i] as number];
    if (Math.abs(one) > mostA || Math.abs(other) > mostB) continue;
    aa += one * one;
    bb += other * other;
    ab += one * other;
    n++;
  }
  return { a: aa / n, b: bb / n, both: ab / n };
}

const FRAMES_LOOKED_AT = 3000;

/** The middle of a column: intervals want neighbours. */
function middleOf(column: Float64Array): Float64Array {
  const from = Math.max(0, (column.length - FRAMES_LOOKED_AT) >> 1);
  return column.subarray(from, from + FRAMES_LOOKED_AT);
}

/** Cost: FRAMES_LOOKED_AT frames. */
export function habitOf({
  aUs: allA,
  bUs: allB,
  shareOfA,
  shareOfB,
}: Pick<CopiedFrames, 'aUs' | 'bUs' | 'shareOfA' | 'shareOfB'>): GatewayHabit {
  const [aUs, bUs] = [middleOf(allA), middleOf(allB)];
  const byShare: Way =
    shareOfB > SHARE_WHOLE && shareOfA < SHARE_THINNED
      ? 'forth'
      : shareOfA > SHARE_WHOLE && shareOfB < SHARE_THINNED
        ? 'back'
        : 'untold';
  if (aUs.length < FRAMES_LEAST) return { way: byShare, follows: null };
  const spread = spreadOf(deviations(aUs), deviations(bUs));
  // An interval has two rounding errors, uniform over a step: variance of step squared over 6.
  const [roundA, roundB] = [stepOf(aUs) ** 2 / 6, stepOf(bUs) ** 2 / 6];
  const [a, b] = [spread.a - roundA, spread.b - roundB];
  const least = Math.min(a, b);
  if (least < BEYOND_ROUNDING * Math.max(roundA, roundB)) return { way: byShare, follows: null };
  const follows = spread.both > FOLLOWS * least;
  if (byShare !== 'untold' || !follows) return { way: byShare, follows };
  return { way: b > STEADIER * a ? 'forth' : a > STEADIER * b ? 'back' : 'untold', follows };
}
