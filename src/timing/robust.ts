/** Order statistics that a few wild values cannot move. All take and leave their input as it is, unless they say otherwise. */
import { MISSING } from '../kit/missing.ts';

/** MAD times this is the standard deviation of normal data. */
const MAD_TO_SD = 1.4826;
/** Above this many values a sample stands for all: its median strays by a hundredth of a standard deviation or two. */
const SAMPLE_MAX = 5_000;
/** Steps of the golden ratio: a sample at equal distances would see only one side of what alternates. */
const GOLDEN = 0.6180339887498949;

/** Of `length` values, at most SAMPLE_MAX in ascending order, spread evenly over them. NaN is left out. */
export function sortedSampleOf(length: number, valueAt: (i: number) => number): Float64Array {
  const n = Math.min(length, SAMPLE_MAX);
  const every = length / Math.max(1, n);
  const sample = new Float64Array(n);
  let kept = 0;
  let within = 0;
  for (let i = 0; i < n; i++) {
    within = (within + GOLDEN) % 1;
    const value = valueAt(every === 1 ? i : Math.floor((i + within) * every));
    if (!Number.isNaN(value)) sample[kept++] = value;
  }
  return sample.subarray(0, kept).sort();
}

/** Values in ascending order, at most SAMPLE_MAX of them, spread evenly over the input. NaN is left out. */
export const sortedSample = (values: Float64Array): Float64Array =>
  sortedSampleOf(values.length, (i) => values[i] as number);

/** Linear between ranks; NaN of nothing. `sorted` ascending. */
export function quantile(sorted: Float64Array, share: number): number {
  if (sorted.length === 0) return MISSING;
  const place = share * (sorted.length - 1);
  const low = Math.floor(place);
  const high = Math.min(low + 1, sorted.length - 1);
  const below = sorted[low] as number;
  return below + (place - low) * ((sorted[high] as number) - below);
}

export const median = (values: Float64Array): number => quantile(sortedSample(values), 0.5);

/** [n] how far the values lie from one among them, ascending: from there outwards on both sides. `sorted` ascending. O(n) */
function distancesFrom(sorted: Float64Array, middle: number): Float64Array {
  const distances = new Float64Array(sorted.length);
  let above = 0;
  while (above < sorted.length && (sorted[above] as number) < middle) above++;
  let below = above - 1;
  for (let i = 0; i < distances.length; i++) {
    const down = below < 0 ? Infinity : middle - (sorted[below] as number);
    const up = above === sorted.length ? Infinity : (sorted[above] as number) - middle;
    distances[i] = Math.min(down, up);
    if (down < up) below--;
    else above++;
  }
  return distances;
}

/** Robust standard deviation about the median. */
export function robustSd(values: Float64Array): number {
  const sorted = sortedSample(values);
  return MAD_TO_SD * quantile(distancesFrom(sorted, quantile(sorted, 0.5)), 0.5);
}

/** Middle of the shortest stretch that holds `share` of the values: where they crowd most. `sorted` ascending. */
export function crowdedMiddle(sorted: Float64Array, share: number): number {
  const n = sorted.length;
  const held = Math.max(2, Math.ceil(share * n));
  if (n < held) return quantile(sorted, 0.5);
  let best = 0;
  for (let i = 1; i + held <= n; i++) {
    const width = (sorted[i + held - 1] as number) - (sorted[i] as number);
    if (width < (sorted[best + held - 1] as number) - (sorted[best] as number)) best = i;
  }
  return quantile(sorted.subarray(best, best + held), 0.5);
}
