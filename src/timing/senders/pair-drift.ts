/**
 * Whether two periodic streams follow one clock: the difference of their strays over the same minutes is bounded for one clock, and a
 * ramp or a bow for two. The capture's own clock, however it wanders, is the same in both and cancels.
 */
import { MISSING } from '../../kit/missing.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import { WINDOW_COUNTS, type ClockReading, type Recorded } from './clock-reading.ts';
import { drawnApart, SHIFT_SD } from './drawn-apart.ts';
import { fitOverTime } from './drift-fit.ts';
import { median } from '../robust.ts';
import { wrapped } from '../wrapped.ts';
import type { Schedule } from './schedules.ts';
import type { WindowReadings } from './window-readings.ts';

export interface PairDrift {
  /** How much faster the first clock runs, ppm, over the minutes that both were heard. */
  readonly ppm: number;
  readonly se: number;
  /** How the drift changes, ppm per 100 s; its standard error is Infinity where it does not show. */
  readonly bend: number;
  readonly bendSe: number;
  /** Log of how likely the two schedules are meant by which this drift is the least. */
  readonly scheduled: number;
  /** Whether the two drift so clearly that no curve was asked for, or so far beyond their errors. */
  readonly isFar: boolean;
  /** Root of the mean square of what is left over its error, and share of the windows that keep to the curve; NaN where rates alone were held. */
  readonly chi: number;
  readonly kept: number;
  /** Their distance in time, microseconds, and what it repeats after: the common part of both periods. */
  readonly distanceUs: number;
  readonly commonUs: number;
}

/** Windows that both must have: half of many, and of few nearly all. */
const WINDOWS_LEAST = 6;
/** Rates further apart than this, ppm and standard errors, are two clocks: no closer look. */
const FAR_PPM = 8;
const FAR_SE = 8;
/** Schedules are told apart by rates that differ by more than this, ppm. */
const NEAR_PPM = 3;

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

type Drift = Omit<PairDrift, 'commonUs' | 'scheduled' | 'isFar'>;

function fromDifferences({ x, d, error }: Differences, shiftUs: number): Drift {
  const { level, ...drift } = fitOverTime(x, d, error, SHIFT_SD * shiftUs);
  return { ...drift, distanceUs: level };
}

/** From each clock's own rate: where stamps are coarse, and where the two are far apart. */
function fromRates(a: ClockReading, b: ClockReading, { endUs }: Recorded): Drift {
  const plain = { ppm: a.rate.ppm - b.rate.ppm, se: Math.hypot(a.rate.se, b.rate.se) };
  return {
    ...(a.drawn && b.drawn && endUs >= DRAWN_LEAST_US ? drawnApart(a.drawn, b.drawn, endUs) : plain),
    bend: Number.isFinite(a.rate.bendSe + b.rate.bendSe) ? a.rate.bend - b.rate.bend : 0,
    bendSe: Math.hypot(a.rate.bendSe, b.rate.bendSe),
    chi: MISSING,
    kept: MISSING,
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

/** Shorter captures hardly have a passing to draw lines by, microseconds: there a rule of thumb stands for what order does not tell. */
const DRAWN_LEAST_US = 100e6;
/** Order tells times only between those of other frames: how far a step of stamps may be stretched, and over what distance that is felt, as shares of it. */
const STRETCHED = 0.25;
const STRETCHED_OVER = 0.25;

/** Two clocks read by order drift apart by seeming the more, the further apart their frames are within a step. */
function stretchPpm(a: ClockReading, b: ClockReading, distanceUs: number, { stepUs, endUs }: Recorded): number {
  if (a.levelUs === null || b.levelUs === null || endUs >= DRAWN_LEAST_US) return 0;
  const away = Math.abs(wrapped(distanceUs, stepUs));
  return ((STRETCHED * stepUs) / endUs) * 1e6 * Math.min(1, away / (STRETCHED_OVER * stepUs));
}

interface Meant {
  readonly a: Schedule;
  readonly b: Schedule;
  /** By how much the first clock is faster than it seems by the schedules by which ticks were counted, ppm. */
  readonly ppm: number;
  readonly log: number;
}

/** The two schedules by which the clocks are closest, likely ones first. */
function meantSchedules(a: ClockReading, b: ClockReading, ppm: number, se: number): Meant {
  const near = Math.max(se, NEAR_PPM);
  const combined = a.track.schedules.flatMap((one) =>
    b.track.schedules.map((other): Meant & { readonly score: number } => {
      const shift = 1e6 * Math.log(one.nominalUs / a.track.nominalUs / (other.nominalUs / b.track.nominalUs));
      const log = Math.log(one.weight * other.weight);
      const score = log - Math.log1p(((ppm + shift) / near) ** 2);
      return { a: one, b: other, ppm: shift, log, score };
    }),
  );
  return combined.reduce((best, each) => (each.score > best.score ? each : best));
}

const isFar = (ppm: number, se: number): boolean => Math.abs(ppm) > Math.max(FAR_PPM, FAR_SE * se);

export function pairDrift(a: ClockReading, b: ClockReading, recorded: Recorded): PairDrift {
  const rates = fromRates(a, b, recorded);
  const meant = meantSchedules(a, b, rates.ppm, rates.se);
  const common = isFar(rates.ppm + meant.ppm, rates.se)
    ? null
    : commonDifferences(a, b, recorded.endUs / MICROS_PER_SECOND);
  const drift = common ? fromDifferences(common, Math.max(a.shiftUs, b.shiftUs)) : rates;
  const commonUs = greatestCommon(Math.round(meant.a.nominalUs), Math.round(meant.b.nominalUs));
  const awayUs = drift.distanceUs + firstUs(b) - firstUs(a);
  const distanceUs = wrapped(awayUs, commonUs);
  return {
    ...drift,
    ppm: drift.ppm + meant.ppm,
    isFar: isFar(drift.ppm + meant.ppm, drift.se),
    scheduled: meant.log,
    se: Math.hypot(drift.se, stretchPpm(a, b, distanceUs, recorded)),
    distanceUs,
    commonUs,
  };
}
