/**
 * Readings set against a field: which field value belongs to each reading once the reading's clock is moved and the field
 * taken a lag earlier, and how well the two go together.
 */
import type { FieldSeries } from '../map/field-series.ts';
import { valueAt, type FieldGrid } from './field-grid.ts';
import type { ReferenceSeries } from './types.ts';

export interface Pairs {
  /** [n] stamps of the readings, [n] field values and [n] readings, in time order, without gaps. */
  readonly timeS: Float64Array;
  readonly x: Float64Array;
  readonly y: Float64Array;
}

/**
 * Pairs each reading with the field `shiftS` after the reading's own stamp, read from the frames themselves: straight
 * between the two frames around it, because a grid would smooth quick fields and make them look smaller.
 */
export function pairUp(
  { timeUs, value: values }: FieldSeries,
  series: ReferenceSeries,
  shiftS: number,
  holdS: number,
): Pairs {
  const n = series.timeS.length;
  const timeS = new Float64Array(n);
  const x = new Float64Array(n);
  const y = new Float64Array(n);
  let kept = 0;
  let next = 0;
  for (let i = 0; i < n; i++) {
    const atUs = ((series.timeS[i] as number) + shiftS) * 1e6;
    while (next < timeUs.length && (timeUs[next] as number) <= atUs) next++;
    if (next === 0 || atUs - (timeUs[next - 1] as number) > holdS * 1e6) continue;
    const before = values[next - 1] as number;
    const beforeUs = timeUs[next - 1] as number;
    const afterUs = next < timeUs.length ? (timeUs[next] as number) : Number.POSITIVE_INFINITY;
    const near = afterUs - beforeUs <= holdS * 1e6 && afterUs > beforeUs;
    x[kept] = near ? before + ((atUs - beforeUs) / (afterUs - beforeUs)) * ((values[next] as number) - before) : before;
    timeS[kept] = series.timeS[i] as number;
    y[kept++] = series.value[i] as number;
  }
  return { timeS: timeS.subarray(0, kept), x: x.subarray(0, kept), y: y.subarray(0, kept) };
}

/** Squared correlation of the pairs at one shift, and how many there are; no array is made. */
export function squaredCorrelation(
  grid: FieldGrid,
  series: ReferenceSeries,
  shiftS: number,
): { r2: number; n: number } {
  let n = 0;
  let sx = 0;
  let sy = 0;
  let sxx = 0;
  let syy = 0;
  let sxy = 0;
  const { timeS, value } = series;
  const x0 = firstValue(grid);
  const y0 = value[0] as number;
  for (let i = 0; i < timeS.length; i++) {
    const x = valueAt(grid, (timeS[i] as number) + shiftS) - x0;
    if (Number.isNaN(x)) continue;
    const y = (value[i] as number) - y0;
    n++;
    sx += x;
    sy += y;
    sxx += x * x;
    syy += y * y;
    sxy += x * y;
  }
  const vx = sxx - (sx * sx) / n;
  const vy = syy - (sy * sy) / n;
  const c = sxy - (sx * sy) / n;
  if (n < 3 || !(vx > 1e-9 * sxx) || !(vy > 1e-9 * syy)) return { r2: 0, n };
  return { r2: Math.min(1, (c * c) / (vx * vy)), n };
}

function firstValue({ value }: FieldGrid): number {
  const first = value.find((one) => !Number.isNaN(one));
  return first ?? 0;
}

/** At most `most` readings, spread evenly over the series. */
export function thinOut(series: ReferenceSeries, most: number): ReferenceSeries {
  const n = series.timeS.length;
  if (n <= most) return series;
  const pick = (_: number, i: number): number => Math.floor((i * n) / most);
  const indices = Array.from({ length: most }, pick);
  return {
    ...series,
    timeS: Float64Array.from(indices, (i) => series.timeS[i] as number),
    value: Float64Array.from(indices, (i) => series.value[i] as number),
  };
}

/** Readings with wild ones pulled in to three times the middle range beyond it, for the search only. */
export function pulledIn(series: ReferenceSeries): ReferenceSeries {
  const ascending = Float64Array.from(series.value).sort();
  const at = (share: number): number => ascending[Math.round(share * (ascending.length - 1))] as number;
  const range = at(0.95) - at(0.05);
  const low = at(0.05) - 3 * range;
  const high = at(0.95) + 3 * range;
  if (!(range > 0)) return series;
  return { ...series, value: series.value.map((value) => Math.min(high, Math.max(low, value))) };
}
