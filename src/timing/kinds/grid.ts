/**
 * Fits a grid of equal periods to the times of frames. Each frame is given a tick number by following the grid's phase from frame to
 * frame, so that lost frames skip ticks, extra ones share one, and slow drift or a restarted timer moves the phase and does
 * not spoil the period. The period is the pooled least-squares slope over stretches of common phase, outliers left out.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { quantile, robustSd } from '../robust.ts';

export interface Grid {
  readonly periodUs: number;
  /** Robust standard deviation of the residuals. */
  readonly jitterUs: number;
  /** Share of frames that lie on the grid, to a quarter period at most. */
  readonly onGrid: number;
  /** [n] ticks since the last frame on the grid; 0 for the first frame and for those beside the grid. */
  readonly ticks: Int32Array;
  /** [n] microseconds from the nearest tick of its stretch. */
  readonly residualUs: Float64Array;
  /** Stretches of common phase; a false period breaks into many. */
  readonly stretches: number;
}

/** How fast the phase follows a frame that is a little off. */
const PHASE_GAIN = 0.2;
/** A frame further off than this share of the period is beside the grid: it takes no tick and moves no phase. */
const BESIDE = 0.25;
/** A longer silence starts a new stretch: ticks across it cannot be counted safely. */
const TICKS_ACROSS_MAX = 50;
/** So many frames in a row beside the grid: it is no longer where it was. */
const BESIDE_IN_A_ROW = 3;
/** A timer that was restarted: intervals of a period, and a phase that is off by more than this share all the while. */
const RESTARTED = 0.05;
const RESTARTED_IN_A_ROW = 2;
/** A longer stretch would let a clock's slow drift look like jitter. */
export const STRETCH_ROWS = 1000;

/** Rows between two steps. */
const ROWS_A_STEP = 100_000;
/** So many frames of a stretch, at equal distances, tell its phase. */
const PHASE_SAMPLE = 100;

/** A walk along a grid of one period, as far as it has come. */
interface Walk {
  readonly periodUs: number;
  readonly ticks: Int32Array;
  /** [n] tick number within the stretch. */
  readonly tick: Int32Array;
  /** First rows of stretches, then n. */
  readonly stretches: number[];
  phase: number;
  now: number;
  beside: number;
  restarted: number;
}

/** Whether the interval fits the period far better than the frame fits the phase. */
function isRestarted(interval: number, error: number, periodUs: number): boolean {
  return Math.abs(error) > RESTARTED * periodUs && Math.abs(interval - periodUs) < Math.abs(error) / 4;
}

/** Follows the phase through rows from..to - 1. */
function walkRows(walk: Walk, timeUs: Float64Array, from: number, to: number): void {
  const { periodUs, ticks, tick, stretches } = walk;
  let { phase, now, beside, restarted } = walk;
  let stretchStart = stretches[stretches.length - 1] as number;
  for (let row = from; row < to; row++) {
    const time = timeUs[row] as number;
    const step = Math.max(0, Math.round((time - phase) / periodUs));
    const error = time - phase - step * periodUs;
    const isBeside = Math.abs(error) > BESIDE * periodUs;
    beside = isBeside ? beside + 1 : 0;
    restarted = isRestarted(time - (timeUs[row - 1] as number), error, periodUs) ? restarted + 1 : 0;
    const isLost = beside >= BESIDE_IN_A_ROW || restarted >= RESTARTED_IN_A_ROW;
    if (isLost || step > TICKS_ACROSS_MAX || row - stretchStart >= STRETCH_ROWS) {
      ticks[row] = step;
      stretches.push(row);
      stretchStart = row;
      phase = time;
      now = beside = restarted = 0;
    } else if (isBeside) {
      tick[row] = now + step;
    } else {
      ticks[row] = step;
      tick[row] = now += step;
      phase += step * periodUs + PHASE_GAIN * error;
    }
  }
  Object.assign(walk, { phase, now, beside, restarted });
}

/** Follows the phase through all frames. O(n). */
function* walkGrid(timeUs: Float64Array, periodUs: number): Steps<Walk> {
  const n = timeUs.length;
  const ticks = new Int32Array(n);
  const phase = timeUs[0] as number;
  const walk = { periodUs, ticks, tick: new Int32Array(n), stretches: [0], phase, now: 0, beside: 0, restarted: 0 };
  for (let row = 1; row < n; row += ROWS_A_STEP) {
    walkRows(walk, timeUs, row, Math.min(n, row + ROWS_A_STEP));
    yield;
  }
  walk.stretches.push(n);
  return walk;
}

function phaseOf(residualUs: Float64Array, from: number, to: number): number {
  const n = Math.min(PHASE_SAMPLE, to - from);
  const sample = new Float64Array(n);
  for (let i = 0; i < n; i++) sample[i] = residualUs[from + Math.floor((i * (to - from)) / n)] as number;
  return quantile(sample.sort(), 0.5);
}

/** Residuals of one stretch to a grid of this period and of the phase that its frames have in the middle. */
function fillResiduals(
  timeUs: Float64Array,
  walk: Walk,
  periodUs: number,
  from: number,
  to: number,
  out: Float64Array,
): void {
  for (let row = from; row < to; row++) out[row] = (timeUs[row] as number) - periodUs * (walk.tick[row] as number);
  const phase = phaseOf(out, from, to);
  for (let row = from; row < to; row++) out[row] = (out[row] as number) - phase;
}

/** [n] residuals, each stretch with a phase of its own. O(n). */
function* residuals(timeUs: Float64Array, walk: Walk, periodUs: number): Steps<Float64Array> {
  const out = new Float64Array(timeUs.length);
  let sinceStep = 0;
  for (let s = 0; s + 1 < walk.stretches.length; s++) {
    const from = walk.stretches[s] as number;
    const to = walk.stretches[s + 1] as number;
    fillResiduals(timeUs, walk, periodUs, from, to, out);
    sinceStep += to - from;
    if (sinceStep > ROWS_A_STEP) {
      sinceStep = 0;
      yield;
    }
  }
  return out;
}

/** Pooled slope of the residuals against tick number over all stretches, frames beyond `limitUs` left out. O(n). */
function slopeCorrection(walk: Walk, residualUs: Float64Array, limitUs: number): number {
  let covariance = 0;
  let variance = 0;
  for (let s = 0; s + 1 < walk.stretches.length; s++) {
    let n = 0;
    let meanTick = 0;
    let meanResidual = 0;
    let sumTT = 0;
    let sumTR = 0;
    for (let row = walk.stretches[s] as number; row < (walk.stretches[s + 1] as number); row++) {
      const residual = residualUs[row] as number;
      if (Math.abs(residual) > limitUs) continue;
      n++;
      const away = (walk.tick[row] as number) - meanTick;
      meanTick += away / n;
      meanResidual += (residual - meanResidual) / n;
      sumTT += away * ((walk.tick[row] as number) - meanTick);
      sumTR += away * (residual - meanResidual);
    }
    covariance += sumTR;
    variance += sumTT;
  }
  return variance > 0 ? covariance / variance : 0;
}

function shareWithin(values: Float64Array, limit: number): number {
  let within = 0;
  for (let i = 0; i < values.length; i++) if (Math.abs(values[i] as number) <= limit) within++;
  return within / values.length;
}

/**
 * @param timeUs [n >= 3] ascending
 * @param guessUs a first period, right to a few per cent
 * Cost: O(n), a handful of passes.
 */
export function* fitGrid(timeUs: Float64Array, guessUs: number): Steps<Grid> {
  let periodUs = guessUs;
  let walk = yield* walkGrid(timeUs, periodUs);
  let residualUs = yield* residuals(timeUs, walk, periodUs);
  for (let pass = 0; pass < 3; pass++) {
    const limitUs = pass === 0 ? periodUs / 2 : Math.max(3.5 * robustSd(residualUs), 1e-6 * periodUs);
    const correction = slopeCorrection(walk, residualUs, limitUs);
    if (!Number.isFinite(correction) || Math.abs(correction) > 0.3 * periodUs) break;
    periodUs += correction;
    if (pass < 2) walk = yield* walkGrid(timeUs, periodUs);
    residualUs = yield* residuals(timeUs, walk, periodUs);
    yield;
  }
  const jitterUs = robustSd(residualUs);
  yield;
  const limitUs = Math.min(periodUs / 4, Math.max(periodUs / 10, 4 * jitterUs));
  const onGrid = shareWithin(residualUs, limitUs);
  return { periodUs, jitterUs, onGrid, ticks: walk.ticks, residualUs, stretches: walk.stretches.length - 1 };
}
