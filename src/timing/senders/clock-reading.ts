/**
 * What one periodic stream says of its sender's clock. Stamps of single microseconds: the hand-over of frames that the bus took at
 * once, window by window; of streams that always queue behind another of their task, that one's. Stamps that step: the rate from
 * the edges between steps.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';
import type { BusyPeriods } from './busy-periods.ts';
import { trackClock, type ClockTrack } from './clock-track.ts';
import { openersOf, type Companions } from './companions.ts';
import { estimateSkew, type Skew } from './skew.ts';
import { rateFromEdges, type OwnRate } from './stamp-edges.ts';
import { readWindows, type WindowReadings } from './window-readings.ts';
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
}

export interface ClockReading {
  readonly stream: Stream;
  readonly track: ClockTrack;
  readonly skew: Skew;
  /** The clock's own rate, whatever it is held against. */
  readonly rate: OwnRate;
  /** One for each of WINDOW_COUNTS; null where stamps are too coarse for it. */
  readonly windows: readonly WindowReadings[] | null;
}

/** Shorter readings part no clocks. */
const SPAN_LEAST_S = 20;
/** More scatter than this share of the period hides the phase. */
const JITTER_MAX = 0.1;
/** Stamps coarser than this hide when a frame was handed over, microseconds. */
export const FINE_STEP_US = 100;
/** Below this no reading of a window is believed: stuff bits and software, microseconds. */
const FLOOR_US = 3;
/** Where the hand-over is never known: a busy period's length. */
const FLOOR_WAITING_US = 100;
/** So many frames of a stream with known hand-over, and windows of the fewest that have some. */
const CLEAR_SHARE = 0.1;
const CLEAR_WINDOWS = 5;
/** How much of a step is left in a rate by least squares, as a share of one step over the whole span. */
const STEP_LEFT = 0.3;

/** Who can be held against others, before busy periods are known. */
export type FirstReading = { readonly first: Omit<ClockReading, 'rate' | 'windows'> } | { readonly why: string };

export function* followClock(stream: Stream, row: SurveyFrame, recorded: Recorded): Steps<FirstReading> {
  const { endUs, stepUs } = recorded;
  const { kind, periodMs, jitterMs, burst } = row.timing;
  if (kind !== 'periodic' || periodMs === null || burst)
    return { why: 'not sent on one period: its clock does not show' };
  if ((jitterMs ?? 0) > JITTER_MAX * periodMs && stepUs < 1000 * periodMs * JITTER_MAX) {
    return { why: 'its period is too loose to show a clock' };
  }
  const track = yield* trackClock(stream.timeUs, periodMs, endUs, recorded.pausesUs.get(stream.bus));
  if (!track)
    return { why: `a period of ${periodMs} ms is no round schedule: its clock cannot be held against others` };
  const skew = yield* estimateSkew(stream.timeUs, track, stepUs);
  if (!skew || skew.spanS < SPAN_LEAST_S)
    return { why: 'heard too shortly or too seldom without a break to show a clock' };
  return { first: { stream, track, skew } };
}

/** From least squares and the hull, whichever is surer; steps of stamps leave their trace in both. */
function plainRate({ leastSquares, lowerHull, spanS }: Skew, stepUs: number): OwnRate {
  const squaresSe = Math.hypot(leastSquares.se, stepUs > FINE_STEP_US ? (STEP_LEFT * stepUs) / spanS : 0);
  const best = lowerHull.se < squaresSe ? lowerHull : { ppm: leastSquares.ppm, se: squaresSe };
  return { ...best, bend: 0, bendSe: Infinity };
}

/** For coarse stamps. */
export function readCoarsely(first: Omit<ClockReading, 'rate' | 'windows'>, { stepUs, endUs }: Recorded): ClockReading {
  const { stream, track, skew } = first;
  const edges = rateFromEdges(stream.timeUs, track, stepUs, endUs, skew.leastSquares.ppm);
  return { ...first, rate: edges ?? plainRate(skew, stepUs), windows: null };
}

/** Whose frames show when this stream's were handed over: itself where it often finds the bus idle, else those it queues behind. */
function clearFrames(
  streams: readonly Stream[],
  place: number,
  busy: BusyPeriods,
  companions: Companions,
  endUs: number,
  ownWindows: (clear: Uint8Array) => number,
): Uint8Array {
  const { index, count } = streams[place] as Stream;
  const openedBy = busy.openedBy[index] as Int16Array;
  const own = Uint8Array.from(openedBy, (opener) => (opener === index ? 1 : 0));
  const clear = own.reduce((sum, one) => sum + one, 0);
  if (clear >= CLEAR_SHARE * count && ownWindows(own) >= CLEAR_WINDOWS) return own;
  const openers = openersOf(streams, place, companions, busy, endUs);
  return Uint8Array.from(openedBy, (opener) => (openers.has(opener) ? 1 : 0));
}

/** For fine stamps. @param firsts all that are held against each other @param place of this one among them */
export function readFinely(
  firsts: readonly Omit<ClockReading, 'rate' | 'windows'>[],
  place: number,
  busy: BusyPeriods,
  companions: Companions,
  { endUs, stepUs }: Recorded,
): ClockReading {
  const first = firsts[place] as Omit<ClockReading, 'rate' | 'windows'>;
  const { timeUs, index } = first.stream;
  const beganUs = busy.beganUs[index] as Float64Array;
  const strayUs = first.track.strayUs.map((us, row) => us + (beganUs[row] as number) - (timeUs[row] as number));
  const least = WINDOW_COUNTS[WINDOW_COUNTS.length - 1] as number;
  const read = (clear: Uint8Array, windows: number): WindowReadings =>
    readWindows({ timeUs, strayUs, clear, endUs }, windows, Math.hypot(FLOOR_US, stepUs / 4));
  const streams = firsts.map(({ stream }) => stream);
  const clear = clearFrames(streams, place, busy, companions, endUs, (own) => read(own, least).count);
  const readings = WINDOW_COUNTS.map((windows) => read(clear, windows));
  const isClear = (readings[readings.length - 1] as WindowReadings).count >= CLEAR_WINDOWS;
  const windows = isClear ? readings : readWaiting(first, endUs);
  return { ...first, rate: plainRate(first.skew, stepUs), windows };
}

/** Frames that always wait behind others' show their clock only as well as busy periods are short. */
function readWaiting({ stream, track }: Omit<ClockReading, 'rate' | 'windows'>, endUs: number): WindowReadings[] {
  const strays = { timeUs: stream.timeUs, strayUs: track.strayUs, clear: null, endUs };
  return WINDOW_COUNTS.map((windows) => readWindows(strays, windows, FLOOR_WAITING_US));
}
