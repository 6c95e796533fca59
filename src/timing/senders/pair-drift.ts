/**
 * Whether two periodic streams follow one clock: the difference of their strays over the same minutes is bounded for one clock, and a
 * ramp or a bow for two. The capture's own clock, however it wanders, is the same in both and cancels.
 */
import { WINDOWS, type ClockTrack } from './clock-track.ts';
import { driftCurve } from './drift-curve.ts';
import type { Skew } from './skew.ts';

export interface ClockReading {
  readonly track: ClockTrack;
  readonly skew: Skew;
}

export interface PairDrift {
  /** How much faster the first clock runs, ppm, over the minutes that both were heard. */
  readonly ppm: number;
  readonly se: number;
  /** How the drift changes, ppm per 100 s; its standard error is Infinity where it does not show. */
  readonly bend: number;
  readonly bendSe: number;
  /** Their distance in time, microseconds, and what it repeats after: the common part of both periods. */
  readonly distanceUs: number;
  readonly commonUs: number;
}

const WINDOWS_LEAST = 10;
/** Below this no reading of a window is believed: task scatter and stuff bits, microseconds. */
const FLOOR_US = 4;
/** Stamps coarser than this hide the least stray of a window; the hulls of whole streams are compared instead. */
const FINE_STEP_US = 200;
/** Rates further apart than this, ppm and standard errors, are two clocks: no closer look. */
const FAR_PPM = 5;
const FAR_SE = 8;

const greatestCommon = (a: number, b: number): number => (b < 1 ? a : greatestCommon(b, a % b));

interface Differences {
  /** [n] seconds, microseconds. */
  readonly x: Float64Array;
  readonly d: Float64Array;
}

function differences(a: ClockTrack, b: ClockTrack, middlesS: Float64Array): Differences {
  const x = new Float64Array(WINDOWS);
  const d = new Float64Array(WINDOWS);
  let n = 0;
  for (let window = 0; window < WINDOWS; window++) {
    const difference = (b.leastUs[window] as number) - (a.leastUs[window] as number);
    if (Number.isNaN(difference)) continue;
    x[n] = middlesS[window] as number;
    d[n++] = difference;
  }
  return { x: x.subarray(0, n), d: d.subarray(0, n) };
}

type Drift = Omit<PairDrift, 'commonUs'>;

function fromCurve({ x, d }: Differences, stepUs: number): Drift {
  const [from, to] = [x[0] as number, x[x.length - 1] as number];
  const halfS = (to - from) / 2;
  const u = x.map((s) => (s - from) / halfS - 1);
  const { level, slope, bend, slopeSe, bendSe } = driftCurve(u, d, Math.hypot(FLOOR_US, stepUs / 2));
  const toBend = 200 / halfS ** 2;
  return {
    ppm: slope / halfS,
    se: slopeSe / halfS,
    bend: bend * toBend,
    bendSe: bendSe * toBend,
    distanceUs: level,
  };
}

/** From the hulls of both streams: for coarse stamps, and where too few windows are common. */
function fromHulls(a: Skew, b: Skew, { d }: Differences): Drift {
  return {
    ppm: a.lowerHull.ppm - b.lowerHull.ppm,
    se: Math.hypot(a.lowerHull.se, b.lowerHull.se),
    bend: 0,
    bendSe: Infinity,
    distanceUs: d.length === 0 ? 0 : (Float64Array.from(d).sort()[d.length >> 1] as number),
  };
}

/** @param offsetUs time of b's first tick less that of a's. @param middlesS [WINDOWS] of the capture */
export function pairDrift(
  a: ClockReading,
  b: ClockReading,
  offsetUs: number,
  middlesS: Float64Array,
  stepUs: number,
): PairDrift {
  const common = differences(a.track, b.track, middlesS);
  const hulls = fromHulls(a.skew, b.skew, common);
  const isFar = Math.abs(hulls.ppm) > Math.max(FAR_PPM, FAR_SE * hulls.se);
  const isCoarse = stepUs > FINE_STEP_US || common.x.length < WINDOWS_LEAST;
  const drift = isFar || isCoarse ? hulls : fromCurve(common, stepUs);
  const commonUs = greatestCommon(Math.round(a.track.nominalUs), Math.round(b.track.nominalUs));
  const awayUs = drift.distanceUs + offsetUs;
  return { ...drift, distanceUs: awayUs - Math.round(awayUs / commonUs) * commonUs, commonUs };
}
