/**
 * A field laid on an even grid of time by holding its last value, so that every shift of the marks is a
 * shift of an index. Where frames stay away for much longer than they usually do, the field has no value.
 */
import { quantile } from '../kit/statistics/order.ts';
import type { FieldSeries } from '../map/field-series.ts';

/** Step of the grid: a fifth of the quickest human reaction (150 ms), rounded up. */
export const GRID_S = 0.05;

/** Marks are shifted in steps of two grid points, and responses are kept at those: 0.1 s. */
export const SHIFT_STRIDE = 2;
export const SHIFT_S = SHIFT_STRIDE * GRID_S;

/** The stretch of the capture that marks are shifted round in, as a circle. */
export interface Circle {
  readonly fromS: number;
  /** Grid points, even. */
  readonly points: number;
}

/** Shifts that go once round the circle. */
export const shiftCount = (circle: Circle): number => circle.points / SHIFT_STRIDE;

/** Place of an instant among the shifts; may lie outside the circle. */
export const shiftIndex = (circle: Circle, atS: number): number => Math.round((atS - circle.fromS) / SHIFT_S);

export interface GriddedField {
  /** [points] the value held; 0 where there is none. */
  readonly value: Float64Array;
  /** [points] 1 where there is a value. */
  readonly present: Uint8Array;
  /** Least and greatest value over the circle; equal where it never moves. */
  readonly least: number;
  readonly greatest: number;
  /** Usual interval between frames, seconds. */
  readonly intervalS: number;
}

interface Intervals {
  readonly usualS: number;
  readonly holdS: number;
}

/** Values are held for four of their longer intervals (on-change frames have long ones), two seconds at least. */
function intervalsOf(timeUs: Float64Array): Intervals {
  const stride = Math.max(1, Math.floor(timeUs.length / 2000));
  const intervals: number[] = [];
  for (let i = stride; i < timeUs.length; i += stride) {
    intervals.push(((timeUs[i] as number) - (timeUs[i - 1] as number)) / 1e6);
  }
  if (intervals.length === 0) return { usualS: 0, holdS: Number.POSITIVE_INFINITY };
  return { usualS: quantile(intervals, 0.5), holdS: Math.max(2, 4 * quantile(intervals, 0.95)) };
}

/** Cost: one pass over the frames and one over the grid. */
export function layOnGrid(series: FieldSeries, circle: Circle): GriddedField {
  const { timeUs, value: values } = series;
  const { usualS, holdS } = intervalsOf(timeUs);
  const value = new Float64Array(circle.points);
  const present = new Uint8Array(circle.points);
  let next = 0;
  let least = Number.POSITIVE_INFINITY;
  let greatest = Number.NEGATIVE_INFINITY;
  for (let k = 0; k < circle.points; k++) {
    const nowUs = (circle.fromS + k * GRID_S) * 1e6;
    while (next < timeUs.length && (timeUs[next] as number) <= nowUs) next++;
    if (next === 0 || nowUs - (timeUs[next - 1] as number) > holdS * 1e6) continue;
    const held = values[next - 1] as number;
    value[k] = held;
    present[k] = 1;
    if (held < least) least = held;
    if (held > greatest) greatest = held;
  }
  return { value, present, least, greatest, intervalS: usualS };
}
