/**
 * Which rows of a time column fall into which column of a window: binary search, never a scan. Columns are half open; the last
 * one takes its end too, so that a window over the whole capture holds its last frame.
 */
import { invariant } from '../../kit/outcome.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { Window } from './types.ts';

/** First row whose time is >= `us`. timeUs [n] ascending. O(log n). */
export function lowerBound(timeUs: Float64Array, us: number, from = 0, to = timeUs.length): number {
  let low = from;
  let high = to;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((timeUs[middle] as number) < us) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** First row whose time is > `us`. */
export function upperBound(timeUs: Float64Array, us: number, from = 0, to = timeUs.length): number {
  let low = from;
  let high = to;
  while (low < high) {
    const middle = (low + high) >>> 1;
    if ((timeUs[middle] as number) <= us) low = middle + 1;
    else high = middle;
  }
  return low;
}

/** Lower bound that starts near a row known to be at or before it: O(log distance). */
function gallop(timeUs: Float64Array, us: number, from: number): number {
  const n = timeUs.length;
  let step = 1;
  let low = from;
  let high = from;
  while (high < n && (timeUs[high] as number) < us) {
    low = high + 1;
    high += step;
    step *= 2;
  }
  return lowerBound(timeUs, us, low, Math.min(high, n));
}

/** [columns + 1] rows: column c holds rows edges[c] to edges[c + 1] - 1. O(columns * log(rows in a column)). */
export function columnEdges(timeUs: Float64Array, window: Window): Uint32Array {
  invariant(
    window.columns >= 1 && window.toS >= window.fromS,
    'a window needs a column and an end not before its start',
  );
  const edges = new Uint32Array(window.columns + 1);
  const fromUs = window.fromS * MICROS_PER_SECOND;
  const widthUs = ((window.toS - window.fromS) * MICROS_PER_SECOND) / window.columns;
  let row = lowerBound(timeUs, fromUs);
  edges[0] = row;
  for (let column = 1; column < window.columns; column++) {
    row = gallop(timeUs, fromUs + column * widthUs, row);
    edges[column] = row;
  }
  edges[window.columns] = upperBound(timeUs, window.toS * MICROS_PER_SECOND, row);
  return edges;
}

/** The last row at or before `us`, or -1. */
export function rowAt(timeUs: Float64Array, us: number): number {
  return upperBound(timeUs, us) - 1;
}
