/**
 * When exactly a field began to change around a mark, read from its frames: the place where the means before
 * and after differ most, then back along the slope to where it left its old level. Half a frame
 * interval is taken off, because a change waits that long on average for its frame.
 */
import { median } from '../kit/statistics/order.ts';
import type { FieldSeries } from '../map/field-series.ts';

const FINE_S = 0.01;
/** Share of the step at which a slope counts as begun. */
const BEGUN = 0.15;
/** A mark whose step is smaller than this share of the usual one had no answer. */
const ANSWERED = 0.3;

export interface ChangeTimes {
  /** [marks] seconds after the mark; NaN where the field did not answer. */
  readonly lagS: Float64Array;
  /** [marks] step, raw units; NaN without data. */
  readonly step: Float64Array;
}

/** Index of the last frame at or before an instant, or -1. */
export function frameBefore(timeUs: Float64Array, atUs: number): number {
  let low = 0;
  let high = timeUs.length;
  while (low < high) {
    const middle = (low + high) >> 1;
    if ((timeUs[middle] as number) <= atUs) low = middle + 1;
    else high = middle;
  }
  return low - 1;
}

/** [points] the value held at fromS + k * FINE_S; null where the field has no frame before the stretch or stops. */
function holdFinely(series: FieldSeries, fromS: number, points: number): Float64Array | null {
  let at = frameBefore(series.timeUs, fromS * 1e6);
  if (at < 0 || frameBefore(series.timeUs, (fromS + points * FINE_S) * 1e6) === at) return null;
  const out = new Float64Array(points);
  for (let k = 0; k < points; k++) {
    const nowUs = (fromS + k * FINE_S) * 1e6;
    while (at + 1 < series.timeUs.length && (series.timeUs[at + 1] as number) <= nowUs) at++;
    out[k] = series.value[at] as number;
  }
  return out;
}

interface Split {
  readonly at: number;
  readonly before: number;
  readonly step: number;
}

/** The split of a stretch that parts its means most, each taken over `width` points. */
function greatestStep(values: Float64Array, width: number): Split {
  const sums = new Float64Array(values.length + 1);
  for (let k = 0; k < values.length; k++) sums[k + 1] = (sums[k] as number) + (values[k] as number);
  let best: Split = { at: width, before: 0, step: 0 };
  for (let k = width; k + width <= values.length; k++) {
    const before = ((sums[k] as number) - (sums[k - width] as number)) / width;
    const after = ((sums[k + width] as number) - (sums[k] as number)) / width;
    if (Math.abs(after - before) > Math.abs(best.step)) best = { at: k, before, step: after - before };
  }
  return best;
}

/** Back from the split to where the slope began, measured from the level that held before it. */
function beginOf(values: Float64Array, { at, step }: Split, width: number): number {
  const before = median(values.subarray(Math.max(0, at - width), Math.max(1, at - (width >> 1))));
  let begin = at;
  while (begin > 0 && ((values[begin - 1] as number) - before) * Math.sign(step) > BEGUN * Math.abs(step)) begin--;
  return begin;
}

export interface ChangeSearch {
  /** Seconds of field on each side of the change that are compared. */
  readonly widthS: number;
  /** How far from the mark the change is sought. */
  readonly earliestS: number;
  readonly latestS: number;
  readonly intervalS: number;
}

/** Change times of one field at marks given on the capture's clock. */
export function changeTimes(series: FieldSeries, marksS: readonly number[], search: ChangeSearch): ChangeTimes {
  const width = Math.max(2, Math.round(search.widthS / FINE_S));
  const points = Math.round((search.latestS - search.earliestS) / FINE_S) + 2 * width;
  const lagS = new Float64Array(marksS.length).fill(Number.NaN);
  const step = new Float64Array(marksS.length).fill(Number.NaN);
  marksS.forEach((markS, i) => {
    const fromS = markS + search.earliestS - search.widthS;
    const values = holdFinely(series, fromS, points);
    if (!values) return;
    const split = greatestStep(values, width);
    step[i] = split.step;
    lagS[i] = fromS + beginOf(values, split, width) * FINE_S - markS - Math.min(search.intervalS, 0.2) / 2;
  });
  return { lagS: withoutMissed(lagS, step), step };
}

function withoutMissed(lagS: Float64Array, step: Float64Array): Float64Array {
  const sizes = step.map(Math.abs).filter((size) => size > 0);
  const usual = sizes.length > 0 ? median(sizes) : 0;
  return lagS.map((lag, i) => (Math.abs(step[i] as number) > ANSWERED * usual ? lag : Number.NaN));
}
