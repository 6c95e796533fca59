/**
 * How fast a sender's clock runs against the capture's, from one periodic stream: by least squares over all frames, and by the edge
 * of the lower convex hull below the middle of the readings (Moon, Skelly, Towsley 1999), which frames delayed by a busy
 * bus cannot move. Neither wins always; both are given with a standard error, and whether they agree.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { ClockTrack } from './clock-track.ts';

interface SlopeEstimate {
  /** Parts per million; above 0: the sender's clock runs fast. */
  readonly ppm: number;
  readonly se: number;
}

export interface Skew {
  readonly leastSquares: SlopeEstimate;
  readonly lowerHull: SlopeEstimate;
  /** Whether the two lie within three standard errors of their difference. */
  readonly agree: boolean;
  /** Seconds that the readings cover, and how many there are. */
  readonly spanS: number;
  readonly n: number;
}

/** Blocks whose means stand for frames that delay one another: their errors are about independent. */
const BLOCKS = 24;
/** How much of the coarseness of stamps is left in a hull's slope, as a share of one step over the whole span. */
const STEP_SHARE = 0.15;
/** Stamps cut to steps lie up to a step above their line: so much of that is no error. */
const STEP_WITHIN = 0.6;
/** A clock that strays over fewer steps has hardly a corner for a hull to rest on. */
const STEPS_CROSSED_LEAST = 2;
const AGREE_SE = 3;
const FRAMES_LEAST = 30;

interface Readings {
  /** [n] seconds, and microseconds of stray. */
  readonly x: Float64Array;
  readonly y: Float64Array;
}

function readings(timeUs: Float64Array, { strayUs, fromRow, toRow }: ClockTrack): Readings {
  const x = new Float64Array(toRow - fromRow);
  const y = new Float64Array(toRow - fromRow);
  let n = 0;
  for (let row = fromRow; row < toRow; row++) {
    if (Number.isNaN(strayUs[row] as number)) continue;
    x[n] = (timeUs[row] as number) / MICROS_PER_SECOND;
    y[n++] = strayUs[row] as number;
  }
  return { x: x.subarray(0, n), y: y.subarray(0, n) };
}

function mean(values: Float64Array): number {
  let sum = 0;
  for (let i = 0; i < values.length; i++) sum += values[i] as number;
  return sum / values.length;
}

interface FittedLine {
  readonly slope: number;
  readonly offset: number;
  /** Sum of squares of x about its mean. */
  readonly sumXX: number;
}

function leastSquaresLine({ x, y }: Readings): FittedLine {
  const [middleX, middleY] = [mean(x), mean(y)];
  let [sumXX, sumXY] = [0, 0];
  for (let i = 0; i < x.length; i++) {
    sumXX += ((x[i] as number) - middleX) ** 2;
    sumXY += ((x[i] as number) - middleX) * ((y[i] as number) - middleY);
  }
  const slope = sumXY / sumXX;
  return { slope, offset: middleY - slope * middleX, sumXX };
}

/** Standard error of the slope from the scores of consecutive blocks: right also where neighbours share their delay. */
function blockedSe({ x, y }: Readings, { slope, offset, sumXX }: FittedLine): number {
  const middleX = mean(x);
  const blocks = Math.min(BLOCKS, Math.floor(x.length / 4));
  let sum = 0;
  for (let block = 0; block < blocks; block++) {
    let score = 0;
    const to = Math.floor(((block + 1) * x.length) / blocks);
    for (let i = Math.floor((block * x.length) / blocks); i < to; i++) {
      score += ((x[i] as number) - middleX) * ((y[i] as number) - offset - slope * (x[i] as number));
    }
    sum += score * score;
  }
  return Math.sqrt((sum * blocks) / (blocks - 2)) / sumXX;
}

/** Indexes of the corners of the lower convex hull, from left to right. O(n), x ascending. */
export function lowerHull(x: Float64Array, y: Float64Array): number[] {
  const corners: number[] = [];
  for (let i = 0; i < x.length; i++) {
    while (corners.length >= 2) {
      const a = corners[corners.length - 2] as number;
      const b = corners[corners.length - 1] as number;
      const runs = ((x[i] as number) - (x[a] as number)) * ((y[b] as number) - (y[a] as number));
      if (runs < ((x[b] as number) - (x[a] as number)) * ((y[i] as number) - (y[a] as number))) break;
      corners.pop();
    }
    corners.push(i);
  }
  return corners;
}

/** The line below all readings that is closest to them on the whole: the hull's edge below their mean time. */
function hullLine({ x, y }: Readings): { readonly slope: number; readonly offset: number } {
  const corners = lowerHull(x, y);
  const middle = mean(x);
  const right = Math.max(
    1,
    corners.findIndex((i) => (x[i] as number) >= middle),
  );
  const [a, b] = [corners[right - 1] as number, corners[right] as number];
  const slope = ((y[b] as number) - (y[a] as number)) / ((x[b] as number) - (x[a] as number));
  return { slope, offset: (y[a] as number) - slope * (x[a] as number) };
}

/** Parts of the span whose lowest readings are held against the hull's line. */
const PARTS = 8;

/**
 * Standard error of a hull's slope: how far the lowest readings of eighths of the span lie above the line, as if that were their
 * error, and the step of the stamps.
 */
function hullSe({ x, y }: Readings, slope: number, offset: number, spanS: number, stepUs: number): number {
  const least = new Float64Array(PARTS).fill(Infinity);
  const from = x[0] as number;
  for (let i = 0; i < x.length; i++) {
    const at = Math.min(PARTS - 1, Math.floor((PARTS * ((x[i] as number) - from)) / spanS));
    least[at] = Math.min(least[at] as number, (y[i] as number) - offset - slope * (x[i] as number));
  }
  const finite = least.filter(Number.isFinite);
  const rest = Math.max(0, Math.sqrt(mean(finite.map((us) => us * us))) - STEP_WITHIN * stepUs);
  const steps = stepUs > 0 ? Math.abs(slope) * (spanS / stepUs) : Infinity;
  return Math.hypot(rest, (steps < STEPS_CROSSED_LEAST ? 1 : STEP_SHARE) * stepUs) / spanS;
}

/**
 * @param timeUs [n] the stream that `track` was made from
 * @param stepUs what stamps are multiples of, or batches apart
 * @returns null with fewer than 30 readings. Cost: O(n)
 * Source: S. B. Moon, P. Skelly, D. Towsley, "Estimation and removal of clock skew from network delay measurements", 1999.
 */
export function* estimateSkew(timeUs: Float64Array, track: ClockTrack, stepUs: number): Steps<Skew | null> {
  const all = readings(timeUs, track);
  const n = all.x.length;
  if (n < FRAMES_LEAST) return null;
  const spanS = (all.x[n - 1] as number) - (all.x[0] as number);
  const line = leastSquaresLine(all);
  yield;
  const squaresSe = Math.hypot(blockedSe(all, line), (STEP_SHARE * stepUs) / spanS / Math.sqrt(BLOCKS));
  yield;
  const hull = hullLine(all);
  yield;
  const se = hullSe(all, hull.slope, hull.offset, spanS, stepUs);
  return {
    leastSquares: { ppm: -line.slope, se: squaresSe },
    lowerHull: { ppm: -hull.slope, se },
    agree: Math.abs(line.slope - hull.slope) <= AGREE_SE * Math.hypot(se, squaresSe),
    spanS,
    n,
  };
}
