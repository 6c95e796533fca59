/**
 * One field made ready for comparison with readings at any times: its values on an even grid, by holding the last one,
 * and the other codings that its bits allow. A lone value far from all others is tried without as well:
 * it may mean "no data", and one such value would outweigh a whole recording.
 */
import type { Coding } from '../frames/bits.ts';
import { quantile } from '../kit/statistics/order.ts';
import type { FieldSeries } from '../map/field-series.ts';

const GRID_S = 0.1;

export interface FieldGrid {
  readonly coding: Coding;
  /** [points] at k * GRID_S from the capture's origin; NaN where there is none. */
  readonly value: Float64Array;
  /** A value is held for so long. */
  readonly holdS: number;
  /** The frames that it was made from. */
  readonly series: FieldSeries;
}

function holdLimitS(timeUs: Float64Array): number {
  const stride = Math.max(1, Math.floor(timeUs.length / 1000));
  const intervals: number[] = [];
  for (let i = stride; i < timeUs.length; i += stride)
    intervals.push(((timeUs[i] as number) - (timeUs[i - 1] as number)) / 1e6);
  return intervals.length === 0 ? Number.POSITIVE_INFINITY : Math.max(2, 4 * quantile(intervals, 0.95));
}

/** [points] values held; NaN before the first frame and where frames stay away. */
export function layOnGrid(series: FieldSeries, coding: Coding, durationS: number): FieldGrid {
  const { timeUs, value } = series;
  const holdS = holdLimitS(timeUs);
  const out = new Float64Array(Math.ceil(durationS / GRID_S) + 1).fill(Number.NaN);
  let next = 0;
  for (let k = 0; k < out.length; k++) {
    const nowUs = k * GRID_S * 1e6;
    while (next < timeUs.length && (timeUs[next] as number) <= nowUs) next++;
    if (next > 0 && nowUs - (timeUs[next - 1] as number) <= holdS * 1e6) out[k] = value[next - 1] as number;
  }
  return { coding, value: out, holdS, series };
}

/** The value at an instant, straight between grid points; NaN where either is missing. */
export function valueAt({ value }: FieldGrid, atS: number): number {
  const at = atS / GRID_S;
  const low = Math.floor(at);
  if (low < 0 || low >= value.length) return Number.NaN;
  const before = value[low] as number;
  const after = value[low + 1];
  return after === undefined ? before : before + (at - low) * (after - before);
}

/** A gap this many times as wide as all the rest sets a value apart. */
const APART = 3;
const APART_SHARE_MOST = 0.5;

interface Extremes {
  readonly least: number;
  readonly second: number;
  readonly nextToLast: number;
  readonly greatest: number;
}

function extremesOf(values: Float64Array): Extremes {
  let [least, second] = [Number.POSITIVE_INFINITY, Number.POSITIVE_INFINITY];
  let [greatest, nextToLast] = [Number.NEGATIVE_INFINITY, Number.NEGATIVE_INFINITY];
  for (const value of values) {
    if (value < least) [least, second] = [value, least];
    else if (value > least && value < second) second = value;
    if (value > greatest) [greatest, nextToLast] = [value, greatest];
    else if (value < greatest && value > nextToLast) nextToLast = value;
  }
  return { least, second, nextToLast, greatest };
}

function without(series: FieldSeries, lone: number): FieldSeries {
  const keep = Uint8Array.from(series.value, (value) => (value === lone ? 0 : 1));
  return { timeUs: series.timeUs.filter((_, i) => keep[i]), value: series.value.filter((_, i) => keep[i]) };
}

/**
 * The series without its least or greatest value where that one stands far from all others and is seen less than half
 * of the time: what "no data" looks like at a start. Null where there is none such; at most both ends are taken off.
 */
export function withoutLoneExtremes(series: FieldSeries): FieldSeries | null {
  let left = series;
  for (let round = 0; round < 2; round++) {
    const { least, second, nextToLast, greatest } = extremesOf(left.value);
    const low = second - least > APART * (greatest - second) && greatest > second;
    const high = greatest - nextToLast > APART * (nextToLast - least) && nextToLast > least;
    if (!low && !high) break;
    const trimmed = without(left, low ? least : greatest);
    if (trimmed.value.length < APART_SHARE_MOST * series.value.length) break;
    left = trimmed;
  }
  return left === series ? null : left;
}

/** Codings worth a try besides the one proposed: only where the top bit is seen both set and clear does it matter. */
export function otherCodings(coding: Coding, unsigned: FieldSeries, length: number): Coding[] {
  if (length < 4 || !['unsigned', 'signed', 'sign-magnitude'].includes(coding)) return [];
  const half = 2 ** (length - 1);
  const set = unsigned.value.some((value) => value >= half);
  const clear = unsigned.value.some((value) => value < half);
  if (!set || !clear) return [];
  return (['unsigned', 'signed', 'sign-magnitude'] as const).filter((other) => other !== coding);
}
