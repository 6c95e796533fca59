/**
 * When exactly a field began to change around a mark, read from its frames: the place where the means before
 * and after differ most, then back along the slope to where it left its old level. Half a frame
 * interval is taken off, because a change waits that long on average for its frame, unless frames are sent on a change.
 */
import { upperBound } from '../frames/pictures/columns.ts';
import { median } from '../kit/statistics/order.ts';
import type { FieldSeries } from '../map/field-series.ts';

const FINE_S = 0.01;
/** Share of the step at which a slope counts as begun. */
const BEGUN = 0.15;
const HALFWAY = 0.5;
/** Frames between two points of a slope, so that it has been seen. */
const RESOLVED = 2;
/** A mark whose step is smaller than this share of the usual one had no answer. */
const ANSWERED = 0.3;

export interface ChangeTimes {
  /** [marks] seconds after the mark; NaN where the field did not answer. */
  readonly lagS: Float64Array;
  /** [marks] step, raw units; NaN without data. */
  readonly step: Float64Array;
}

/** Index of the last frame at or before an instant, or -1. */
export const frameBefore = (timeUs: Float64Array, atUs: number): number => upperBound(timeUs, atUs) - 1;

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

/** Of a short pulse both edges part the means about as much: the earlier one is meant. */
const ABOUT_AS_GREAT = 0.9;

/** The first split of a stretch that parts its means about as much as any, each taken over `width` points. */
function greatestStep(values: Float64Array, width: number): Split {
  const sums = new Float64Array(values.length + 1);
  for (let k = 0; k < values.length; k++) sums[k + 1] = (sums[k] as number) + (values[k] as number);
  const splitAt = (at: number): Split => {
    const before = ((sums[at] as number) - (sums[at - width] as number)) / width;
    const after = ((sums[at + width] as number) - (sums[at] as number)) / width;
    return { at, before, step: after - before };
  };
  let most = 0;
  for (let at = width; at + width <= values.length; at++) most = Math.max(most, Math.abs(splitAt(at).step));
  let best = splitAt(width);
  for (let at = width; at + width <= values.length; at++) {
    const split = splitAt(at);
    // On to the top of the first slope that comes near the greatest.
    if (Math.abs(split.step) >= Math.abs(best.step)) best = split;
    else if (Math.abs(best.step) >= ABOUT_AS_GREAT * most) break;
  }
  return best;
}

/**
 * Back from the split along the slope, measured from the level that held before it, and on from two points of the slope to where it left that level:
 * a pedal takes a while to come up, the flag that it sets does not. In points of the grid.
 */
function beginOf(values: Float64Array, { at, step }: Split, width: number, slopeLeast: number): number {
  const before = median(values.subarray(Math.max(0, at - width), Math.max(1, at - (width >> 1))));
  const isPast = (k: number, share: number): boolean =>
    ((values[k] as number) - before) * Math.sign(step) > share * Math.abs(step);
  let half = at;
  while (half > 0 && isPast(half - 1, HALFWAY)) half--;
  let begin = half;
  while (begin > 0 && isPast(begin - 1, BEGUN)) begin--;
  // A slope that frames do not resolve has no shape to go on from.
  return half - begin < slopeLeast ? begin : begin - (half - begin) * (BEGUN / (HALFWAY - BEGUN));
}

export interface ChangeSearch {
  /** Seconds of field on each side of the change that are compared. */
  readonly widthS: number;
  /** How far from the mark the change is sought. */
  readonly earliestS: number;
  readonly latestS: number;
  readonly intervalS: number;
  /** A number rises along a slope; states and flags leave their level at once. */
  readonly isNumber: boolean;
}

/** Frames that come sooner than this share of their interval after the one before were sent because something changed. */
const AT_ONCE = 0.75;
const LATENCY_MOST_S = 0.1;

/** How long a change waits for its frame on average: half an interval, or not at all where changes are sent at once. */
function latencyS({ timeUs }: FieldSeries, changedS: readonly number[], intervalS: number): number {
  const gaps = changedS.flatMap((atS) => {
    const frame = frameBefore(timeUs, atS * 1e6 + 1);
    return frame > 0 ? [((timeUs[frame] as number) - (timeUs[frame - 1] as number)) / 1e6] : [];
  });
  return gaps.length > 0 && median(gaps) < AT_ONCE * intervalS ? 0 : Math.min(intervalS / 2, LATENCY_MOST_S);
}

/** Change times of one field at marks given on the capture's clock. */
export function changeTimes(series: FieldSeries, marksS: readonly number[], search: ChangeSearch): ChangeTimes {
  const width = Math.max(2, Math.round(search.widthS / FINE_S));
  const points = Math.round((search.latestS - search.earliestS) / FINE_S) + 2 * width;
  const slopeLeast = search.isNumber ? (RESOLVED * search.intervalS) / FINE_S : Number.POSITIVE_INFINITY;
  const changeS = new Float64Array(marksS.length).fill(Number.NaN);
  const step = new Float64Array(marksS.length).fill(Number.NaN);
  marksS.forEach((markS, i) => {
    const fromS = markS + search.earliestS - search.widthS;
    const values = holdFinely(series, fromS, points);
    if (!values) return;
    const split = greatestStep(values, width);
    step[i] = split.step;
    changeS[i] = fromS + beginOf(values, split, width, slopeLeast) * FINE_S;
  });
  const known = withoutMissed(changeS, step);
  const lateS = latencyS(
    series,
    [...known].filter((atS) => !Number.isNaN(atS)),
    search.intervalS,
  );
  return { lagS: known.map((atS, i) => atS - (marksS[i] as number) - lateS), step };
}

function withoutMissed(lagS: Float64Array, step: Float64Array): Float64Array {
  const sizes = step.map(Math.abs).filter((size) => size > 0);
  const usual = sizes.length > 0 ? median(sizes) : 0;
  return lagS.map((lag, i) => (Math.abs(step[i] as number) > ANSWERED * usual ? lag : Number.NaN));
}
