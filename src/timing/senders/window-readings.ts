/**
 * One clock's readings in equal windows of the capture: the median stray of the frames whose moment of hand-over is known, brought to
 * the middle of the window along the clock's own rate, with its standard error. Frames that waited for others are left out; a
 * window in which far more waited than usual is missing, since those that did not wait were late by selection.
 */
import { MISSING } from '../../kit/missing.ts';
import { quantile, robustSd } from '../robust.ts';

export interface WindowReadings {
  /** [windows] microseconds of stray in the middle of each window; MISSING where too few. */
  readonly valueUs: Float64Array;
  /** [windows] standard errors of those. */
  readonly errorUs: Float64Array;
  /** How many windows have one. */
  readonly count: number;
}

/** So many frames of a window are looked at. */
const LOOKED_AT = 250;
const FRAMES_LEAST = 3;
/** Of the share of frames with known hand-over that windows usually have, so much must be left. */
const CLEAR_LEAST = 0.5;
/** A median strays by this many standard deviations over the root of n. */
const MEDIAN_SD = 1.25;

interface Windowed {
  /** Rows of each window that are of use. */
  readonly rows: readonly (readonly number[])[];
  /** Mean time and stray of those. */
  readonly x: Float64Array;
  readonly y: Float64Array;
}

export interface Strays {
  /** [n] microseconds. */
  readonly timeUs: Float64Array;
  /** [n] MISSING where a row is of no use. */
  readonly strayUs: Float64Array;
  /** [n] 1 where the moment of hand-over is known; null: everywhere. */
  readonly clear: Uint8Array | null;
  readonly endUs: number;
}

function intoWindows({ timeUs, strayUs, clear, endUs }: Strays, windows: number): Windowed {
  const all = new Float64Array(windows);
  // Time ascends: the useful rows of a window are neighbours.
  const useful = new Uint32Array(timeUs.length);
  const ends = new Uint32Array(windows);
  let found = 0;
  for (let row = 0; row < timeUs.length; row++) {
    if (Number.isNaN(strayUs[row] as number)) continue;
    const window = Math.min(windows - 1, Math.floor(((timeUs[row] as number) / endUs) * windows));
    all[window] = (all[window] as number) + 1;
    if (clear && !clear[row]) continue;
    useful[found++] = row;
    ends[window] = found;
  }
  for (let window = 1; window < windows; window++)
    ends[window] = Math.max(ends[window] as number, ends[window - 1] as number);
  const rows = Array.from(ends, (end, window) => useful.subarray(window === 0 ? 0 : ends[window - 1], end));
  const shares = Float64Array.from(rows, (each, window) => each.length / Math.max(1, all[window] as number));
  const usual = quantile(shares.filter((share) => share > 0).sort(), 0.75);
  const most = Math.max(...rows.map((each) => each.length));
  const kept = rows.map((each, window) => {
    const isFew =
      each.length < FRAMES_LEAST || each.length < most / 10 || (shares[window] as number) < CLEAR_LEAST * usual;
    return isFew ? [] : thinned(each);
  });
  const meanOf = (values: Float64Array): Float64Array =>
    Float64Array.from(kept, (each) => each.reduce((sum, row) => sum + (values[row] as number), 0) / each.length);
  return { rows: kept, x: meanOf(timeUs), y: meanOf(strayUs) };
}

function thinned(rows: Uint32Array): number[] {
  if (rows.length <= LOOKED_AT) return [...rows];
  return Array.from({ length: LOOKED_AT }, (_, i) => rows[Math.floor(((i + 0.5) * rows.length) / LOOKED_AT)] as number);
}

/** Stray gained per microsecond about one window, from its neighbours. */
function localSlope({ x, y }: Windowed, window: number): number {
  let [from, to] = [window - 1, window + 1];
  while (from >= 0 && Number.isNaN(x[from] as number)) from--;
  while (to < x.length && Number.isNaN(x[to] as number)) to++;
  const low = from < 0 ? window : from;
  const high = to >= x.length ? window : to;
  if (low === high) return 0;
  return ((y[high] as number) - (y[low] as number)) / ((x[high] as number) - (x[low] as number));
}

/** @param floorUs least error that is believed. Cost: O(n) */
export function readWindows(strays: Strays, windows: number, floorUs: number): WindowReadings {
  const { timeUs, strayUs, endUs } = strays;
  const windowed = intoWindows(strays, windows);
  const valueUs = new Float64Array(windows).fill(MISSING);
  const errorUs = new Float64Array(windows).fill(MISSING);
  let count = 0;
  for (let window = 0; window < windows; window++) {
    const rows = windowed.rows[window] as readonly number[];
    if (rows.length === 0) continue;
    const slope = localSlope(windowed, window);
    const middleUs = ((window + 0.5) * endUs) / windows;
    const rest = Float64Array.from(
      rows,
      (row) => (strayUs[row] as number) - slope * ((timeUs[row] as number) - middleUs),
    );
    valueUs[window] = quantile(Float64Array.from(rest).sort(), 0.5);
    errorUs[window] = Math.hypot(floorUs, (MEDIAN_SD * robustSd(rest)) / Math.sqrt(rows.length));
    count++;
  }
  return { valueUs, errorUs, count };
}
