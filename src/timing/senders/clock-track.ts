/**
 * One periodic stream as the reading of its sender's clock: every frame gets the number of its tick, and what is left of its time
 * is how far that clock has strayed from the capture's. Lost frames skip ticks; a long silence or a restarted
 * timer begins a new piece, across which ticks are not counted.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { MISSING } from '../../kit/missing.ts';
import { schedulesOf, type Schedule } from './schedules.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';

/** Windows of a capture over which the readings of two streams are held against each other. */
export const WINDOWS = 32;
/** How fast the phase follows, and what is beside the grid, as shares. */
const PHASE_GAIN = 0.05;
const BESIDE = 0.25;
const BESIDE_IN_A_ROW = 3;
/** Longer silences break the count of ticks. */
const TICKS_ACROSS_MAX = 50;
const SILENCE_US = 2_000_000;
const ROWS_A_STEP = 100_000;

export interface ClockTrack {
  /** The period that the schedule most likely means, by which ticks are counted. */
  readonly nominalUs: number;
  /** All that it may mean, the likeliest first. */
  readonly schedules: readonly Schedule[];
  /** [n] microseconds behind the nominal ticks of the longest piece; MISSING beside the grid and in other pieces. */
  readonly strayUs: Float64Array;
  /** First row of the longest piece, and the row after its last. */
  readonly fromRow: number;
  readonly toRow: number;
  /** [WINDOWS] least stray of each window of the capture; MISSING where none, or few. */
  readonly leastUs: Float64Array;
}

interface Pieces {
  /** [n] stray within its piece. */
  readonly strayUs: Float64Array;
  /** First rows of pieces, then n. */
  readonly starts: readonly number[];
}

/** How ticks are counted where a stamp stands for a step that is no small part of the period. */
interface Counting {
  readonly nominalUs: number;
  readonly stepUs: number;
}

/** Steps wider than this share of the period make the nearest tick a guess. */
const STEP_WIDE = 0.2;
/** Stamps of one clock lie within a step of each other, and by so much more for waits. */
const STEP_SLACK = 1.1;

/**
 * Ticks since the frame before. As a rule the nearest to where the phase is; where stamps step too widely for that, every frame is
 * the next tick, as long as its stamp may be: a batch without one and a batch with two are how a clock is seen to drift.
 */
function ticksSince(since: number, phase: number, before: number, { nominalUs, stepUs }: Counting): number {
  if (stepUs <= STEP_WIDE * nominalUs) return Math.round((since - phase) / nominalUs);
  const fits = (since - phase - STEP_SLACK * stepUs) / nominalUs;
  return Math.max(before + 1, Math.ceil(fits));
}

/** O(n). */
function* followTicks(timeUs: Float64Array, counting: Counting, pausesUs: readonly number[]): Steps<Pieces> {
  const { nominalUs, stepUs } = counting;
  const strayUs = new Float64Array(timeUs.length).fill(MISSING);
  const starts = [0];
  const besideUs = Math.max(BESIDE * nominalUs, STEP_SLACK * stepUs);
  let origin = timeUs[0] as number;
  let [ticks, phase, beside, pause] = [0, 0, 0, 0];
  strayUs[0] = 0;
  for (let row = 1; row < timeUs.length; row++) {
    const time = timeUs[row] as number;
    const paused = time > (pausesUs[pause] ?? Infinity);
    while (time > (pausesUs[pause] ?? Infinity)) pause++;
    const silent = paused || time - (timeUs[row - 1] as number) > Math.max(SILENCE_US, TICKS_ACROSS_MAX * nominalUs);
    const tick = ticksSince(time - origin, phase, ticks, counting);
    const stray = time - origin - tick * nominalUs;
    const off = stray - phase;
    beside = Math.abs(off) > besideUs ? beside + 1 : 0;
    if (silent || beside >= BESIDE_IN_A_ROW) {
      starts.push(row);
      [origin, ticks, phase, beside] = [time, 0, 0, 0];
      strayUs[row] = 0;
    } else if (beside === 0 && tick > ticks) {
      strayUs[row] = stray;
      phase += PHASE_GAIN * off;
      ticks = tick;
    }
    if (row % ROWS_A_STEP === 0) yield;
  }
  starts.push(timeUs.length);
  return { strayUs, starts };
}

/** The piece that lasts longest, as its first row and the row after its last. */
function longestPiece(timeUs: Float64Array, starts: readonly number[]): readonly [from: number, to: number] {
  let [from, to, longest] = [0, 0, -1];
  for (let i = 0; i + 1 < starts.length; i++) {
    const [first, next] = [starts[i] as number, starts[i + 1] as number];
    const length = (timeUs[next - 1] as number) - (timeUs[first] as number);
    if (length > longest) [from, to, longest] = [first, next, length];
  }
  return [from, to];
}

function leastOfWindows(
  timeUs: Float64Array,
  strayUs: Float64Array,
  from: number,
  to: number,
  endUs: number,
): Float64Array {
  const least = new Float64Array(WINDOWS).fill(Infinity);
  const counts = new Uint32Array(WINDOWS);
  for (let row = from; row < to; row++) {
    const stray = strayUs[row] as number;
    if (Number.isNaN(stray)) continue;
    const window = Math.min(WINDOWS - 1, Math.floor(((timeUs[row] as number) / endUs) * WINDOWS));
    least[window] = Math.min(least[window] as number, stray);
    counts[window] = (counts[window] as number) + 1;
  }
  const usual = counts.reduce((most, count) => Math.max(most, count), 0);
  return least.map((us, window) => ((counts[window] as number) < usual / 2 ? MISSING : us));
}

/**
 * @param timeUs [n >= 2] ascending, from the capture's origin
 * @param endUs end of the capture, microseconds
 * @param pausesUs when the whole bus fell silent, ascending: a logger that pauses may have set its clock anew
 * @param stepUs what stamps are multiples of, or batches apart
 * @returns null where the period is no schedule's
 */
export function* trackClock(
  timeUs: Float64Array,
  periodMs: number,
  endUs: number,
  pausesUs: readonly number[] = [],
  stepUs = 0,
): Steps<ClockTrack | null> {
  const schedules = schedulesOf(periodMs);
  if (schedules.length === 0) return null;
  const { nominalUs } = schedules[0] as Schedule;
  const { strayUs, starts } = yield* followTicks(timeUs, { nominalUs, stepUs }, pausesUs);
  const [fromRow, toRow] = longestPiece(timeUs, starts);
  strayUs.fill(MISSING, 0, fromRow).fill(MISSING, toRow);
  yield;
  return {
    nominalUs,
    schedules,
    strayUs,
    fromRow,
    toRow,
    leastUs: leastOfWindows(timeUs, strayUs, fromRow, toRow, endUs),
  };
}

/** Where the windows of a capture have their middle, seconds. */
export function windowMiddlesS(endUs: number): Float64Array {
  return Float64Array.from({ length: WINDOWS }, (_, i) => ((i + 0.5) * endUs) / WINDOWS / MICROS_PER_SECOND);
}
