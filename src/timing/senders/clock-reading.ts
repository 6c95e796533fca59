/**
 * What one periodic stream says of its sender's clock: its ticks counted, its own rate, and where stamps are fine its readings window
 * by window. Stamps that step leave the rate from the edges between steps.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { Stream } from '../../frames/table.ts';
import type { BusFrames } from '../bus-frames.ts';
import { trackClock, type ClockTrack } from './clock-track.ts';
import { estimateSkew, type Skew } from './skew.ts';
import type { OwnRate } from './stamp-edges.ts';
import type { WindowReadings } from './window-readings.ts';
import type { SurveyFrame } from '../types.ts';

/** How many windows a capture is cut into: few for streams that are seldom heard. */
export const WINDOW_COUNTS = [32, 16, 8] as const;

/** What is known of how the capture was recorded. */
export interface Recorded {
  /** What stamps are multiples of, or the distance of batches. */
  readonly stepUs: number;
  readonly endUs: number;
  /** By bus: when all of it fell silent, microseconds, ascending. */
  readonly pausesUs: ReadonlyMap<string, readonly number[]>;
  /** By bus: a number that buses share whose stamps are of one clock; a bus that is left out is of clock 0. */
  readonly clockOf: ReadonlyMap<string, number>;
  /** Of streams with a rolling counter: rows at which it began anew. */
  readonly restarts?: ReadonlyMap<Stream, Int32Array>;
  /** All frames of each bus, where they have been brought together already. */
  readonly buses?: readonly BusFrames[];
}

export interface ClockReading {
  readonly stream: Stream;
  readonly track: ClockTrack;
  readonly skew: Skew;
  /** The clock's own rate, whatever it is held against. */
  readonly rate: OwnRate;
  /** One for each of WINDOW_COUNTS; null where stamps are too coarse for it. */
  readonly windows: readonly WindowReadings[] | null;
  /** By how much all of its readings may shift over the capture for other reasons than its clock, microseconds. */
  readonly shiftUs: number;
  /** Stray in the middle of the capture where order tells it better than stamps; else null. */
  readonly levelUs: number | null;
  /** What order and stamps' steps told it by; null where stamps are fine. */
  readonly drawn: DrawnClock | null;
}

/** One clock as order has it, and as it might as well be. */
export interface DrawnClock {
  readonly ppm: number;
  /** [samples] of lines that were all drawn together: two clocks' are held against each other sample by sample. */
  readonly samplesPpm: Float64Array;
  /** By the edges between steps; null where too few are crossed. */
  readonly edges: OwnRate | null;
}

/** A stream whose ticks are counted, not yet read. */
export type FollowedClock = Pick<ClockReading, 'stream' | 'track' | 'skew'>;

/** Shorter readings part no clocks. */
const SPAN_LEAST_S = 20;
/** A beat that starts anew with every extra frame shows its clock only while it goes on for most of the capture. */
const MIXED_SHARE = 0.5;
/** More scatter than this share of the period hides the phase. */
const JITTER_MAX = 0.1;
/** Stamps coarser than this hide when a frame was handed over, microseconds. */
export const FINE_STEP_US = 100;
/** Stamps coarser than this hide how long the wire was busy before a frame, microseconds. */
export const WIRE_STEP_US = 20;
/** How much of a step is left in a rate by least squares, as a share of one step over the whole span. */
const STEP_LEFT = 0.3;

/** Who can be held against others, before busy periods are known. */
export type FirstReading = { readonly first: FollowedClock } | { readonly why: string };

export function* followClock(stream: Stream, row: SurveyFrame, recorded: Recorded): Steps<FirstReading> {
  const { endUs, stepUs } = recorded;
  const { kind, periodMs, jitterMs, burst } = row.timing;
  if ((kind !== 'periodic' && kind !== 'mixed') || periodMs === null || burst)
    return { why: 'not sent on one period: its clock does not show' };
  if ((jitterMs ?? 0) > JITTER_MAX * periodMs && stepUs < 1000 * periodMs * JITTER_MAX) {
    return { why: 'its period is too loose to show a clock' };
  }
  const track = yield* trackClock(stream.timeUs, periodMs, endUs, recorded.pausesUs.get(stream.bus), stepUs);
  if (!track)
    return { why: `a period of ${periodMs} ms is no round schedule: its clock cannot be held against others` };
  const skew = yield* estimateSkew(stream.timeUs, track, stepUs);
  const leastS = Math.max(SPAN_LEAST_S, kind === 'mixed' ? (MIXED_SHARE * endUs) / MICROS_PER_SECOND : 0);
  if (!skew || skew.spanS < leastS) return { why: 'heard too shortly or too seldom without a break to show a clock' };
  return { first: { stream, track, skew } };
}

/** From least squares and the hull, whichever is surer; steps of stamps leave their trace in both. */
export function plainRate({ leastSquares, lowerHull, spanS }: Skew, stepUs: number): OwnRate {
  const squaresSe = Math.hypot(leastSquares.se, stepUs > FINE_STEP_US ? (STEP_LEFT * stepUs) / spanS : 0);
  const best = lowerHull.se < squaresSe ? lowerHull : { ppm: leastSquares.ppm, se: squaresSe };
  return { ...best, bend: 0, bendSe: Infinity };
}
