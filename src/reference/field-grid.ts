/**
 * One field made ready for comparison with readings at any times: its values on an even grid, by holding the last one,
 * and the other codings that its bits allow. Values that are a lone all-ones far from the rest are
 * taken for "no data", because one such value would outweigh a whole recording.
 */
import type { Coding } from '../frames/bits.ts';
import { quantile } from '../kit/statistics/order.ts';
import type { FieldSeries } from '../map/field-series.ts';

export const GRID_S = 0.1;

export interface FieldGrid {
  readonly coding: Coding;
  /** [points] at k * GRID_S from the capture's origin; NaN where there is none. */
  readonly value: Float64Array;
  readonly intervalS: number;
}

function holdLimitS(timeUs: Float64Array): { usualS: number; holdS: number } {
  const stride = Math.max(1, Math.floor(timeUs.length / 1000));
  const intervals: number[] = [];
  for (let i = stride; i < timeUs.length; i += stride)
    intervals.push(((timeUs[i] as number) - (timeUs[i - 1] as number)) / 1e6);
  if (intervals.length === 0) return { usualS: 0, holdS: Number.POSITIVE_INFINITY };
  return { usualS: quantile(intervals, 0.5), holdS: Math.max(2, 4 * quantile(intervals, 0.95)) };
}

/** [points] values held; NaN before the first frame and where frames stay away. */
export function layOnGrid({ timeUs, value }: FieldSeries, coding: Coding, durationS: number): FieldGrid {
  const { usualS, holdS } = holdLimitS(timeUs);
  const out = new Float64Array(Math.ceil(durationS / GRID_S) + 1).fill(Number.NaN);
  let next = 0;
  for (let k = 0; k < out.length; k++) {
    const nowUs = k * GRID_S * 1e6;
    while (next < timeUs.length && (timeUs[next] as number) <= nowUs) next++;
    if (next > 0 && nowUs - (timeUs[next - 1] as number) <= holdS * 1e6) out[k] = value[next - 1] as number;
  }
  return { coding, value: out, intervalS: usualS };
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

/** Raw values without those that stand for "no data": all ones, alone and far above everything else. */
export function withoutFilling(series: FieldSeries, length: number): FieldSeries {
  const full = 2 ** length - 1;
  const isFilling = (value: number): boolean => value >= full - 1 && length >= 8;
  let top = Number.NEGATIVE_INFINITY;
  let filling = 0;
  for (const value of series.value) {
    if (isFilling(value)) filling++;
    else if (value > top) top = value;
  }
  if (filling === 0 || filling > 0.5 * series.value.length || top > 0.9 * full) return series;
  const keep = Array.from(series.value, (value) => !isFilling(value));
  return { timeUs: series.timeUs.filter((_, i) => keep[i]), value: series.value.filter((_, i) => keep[i]) };
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
