/**
 * Whether two periodic streams follow one clock: the difference of their strays over the same minutes is bounded for one clock, and a
 * ramp or a bow for two. The capture's own clock, however it wanders, is the same in both and cancels.
 */
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import { WINDOW_COUNTS, type ClockReading, type Recorded } from './clock-reading.ts';
import { fitDrift } from './drift-fit.ts';
import { median } from '../robust.ts';
import type { WindowReadings } from './window-readings.ts';

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

/** Windows that both must have: half of many, and of few nearly all. */
const WINDOWS_LEAST = 6;
/** Rates further apart than this, ppm and standard errors, are two clocks: no closer look. */
const FAR_PPM = 8;
const FAR_SE = 8;
/** A shift of up to so much has this standard deviation, as a share. */
const SHIFT_SD = 0.5;

const greatestCommon = (a: number, b: number): number => (b < 1 ? a : greatestCommon(b, a % b));

interface Differences {
  /** [n] seconds, microseconds, and standard errors of those. */
  readonly x: Float64Array;
  readonly d: Float64Array;
  readonly error: Float64Array;
}

function differences(a: WindowReadings, b: WindowReadings, endS: number): Differences {
  const windows = [...a.valueUs.keys()].filter(
    (w) => !Number.isNaN((b.valueUs[w] as number) - (a.valueUs[w] as number)),
  );
  return {
    x: Float64Array.from(windows, (w) => ((w + 0.5) * endS) / a.valueUs.length),
    d: Float64Array.from(windows, (w) => (b.valueUs[w] as number) - (a.valueUs[w] as number)),
    error: Float64Array.from(windows, (w) => Math.hypot(a.errorUs[w] as number, b.errorUs[w] as number)),
  };
}

/** Of the finest windows in which both were read often enough. */
function commonDifferences(a: ClockReading, b: ClockReading, endS: number): Differences | null {
  if (!a.windows || !b.windows) return null;
  for (const [level, windows] of WINDOW_COUNTS.entries()) {
    const common = differences(a.windows[level] as WindowReadings, b.windows[level] as WindowReadings, endS);
    if (common.x.length >= Math.max(WINDOWS_LEAST, windows / 2)) return common;
  }
  return null;
}

type Drift = Omit<PairDrift, 'commonUs'>;

function fromDifferences({ x, d, error }: Differences, shiftUs: number): Drift {
  const [from, to] = [x[0] as number, x[x.length - 1] as number];
  const halfS = (to - from) / 2;
  const u = x.map((s) => (s - from) / halfS - 1);
  const { level, slope, bend, slopeSe, bendSe } = fitDrift(u, d, error);
  const toBend = 200 / halfS ** 2;
  return {
    ppm: slope / halfS,
    se: Math.hypot(slopeSe, SHIFT_SD * shiftUs) / halfS,
    bend: bend * toBend,
    bendSe: Math.hypot(bendSe, SHIFT_SD * shiftUs) * toBend,
    distanceUs: level,
  };
}

/** From each clock's own rate: where stamps are coarse, and where the two are far apart. */
function fromRates(a: ClockReading, b: ClockReading): Drift {
  return {
    ppm: a.rate.ppm - b.rate.ppm,
    se: Math.hypot(a.rate.se, b.rate.se),
    bend: Number.isFinite(a.rate.bendSe + b.rate.bendSe) ? a.rate.bend - b.rate.bend : 0,
    bendSe: Math.hypot(a.rate.bendSe, b.rate.bendSe),
    distanceUs: strayApart(a, b),
  };
}

function strayApart(a: ClockReading, b: ClockReading): number {
  if (a.levelUs !== null && b.levelUs !== null) return b.levelUs - a.levelUs;
  const strays = b.track.leastUs.map((us, window) => us - (a.track.leastUs[window] as number));
  const common = strays.filter((us) => !Number.isNaN(us));
  return common.length === 0 ? 0 : median(common);
}

const firstUs = ({ stream, track }: ClockReading): number => stream.timeUs[track.fromRow] as number;

/** Order tells times only between those of other frames: how far a step of stamps may be stretched, and over what distance that is felt, as shares of it. */
const STRETCHED = 0.25;
const STRETCHED_OVER = 0.25;

/** Two clocks read by order drift apart by seeming the more, the further apart their frames are within a step. */
function stretchPpm(a: ClockReading, b: ClockReading, distanceUs: number, { stepUs, endUs }: Recorded): number {
  if (a.levelUs === null || b.levelUs === null) return 0;
  const away = Math.abs(distanceUs - Math.round(distanceUs / stepUs) * stepUs);
  return ((STRETCHED * stepUs) / endUs) * 1e6 * Math.min(1, away / (STRETCHED_OVER * stepUs));
}

export function pairDrift(a: ClockReading, b: ClockReading, recorded: Recorded): PairDrift {
  const rates = fromRates(a, b);
  const isFar = Math.abs(rates.ppm) > Math.max(FAR_PPM, FAR_SE * rates.se);
  const common = isFar ? null : commonDifferences(a, b, recorded.endUs / MICROS_PER_SECOND);
  const drift = common ? fromDifferences(common, Math.max(a.shiftUs, b.shiftUs)) : rates;
  const commonUs = greatestCommon(Math.round(a.track.nominalUs), Math.round(b.track.nominalUs));
  const awayUs = drift.distanceUs + firstUs(b) - firstUs(a);
  const distanceUs = awayUs - Math.round(awayUs / commonUs) * commonUs;
  return { ...drift, se: Math.hypot(drift.se, stretchPpm(a, b, distanceUs, recorded)), distanceUs, commonUs };
}
