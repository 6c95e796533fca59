/** How much a field dithers from one fresh value to the next, apart from where it is going: rounding and noise. */
import { median } from '../../kit/statistics/order.ts';

/** Median of a normal's size, in its standard deviations. */
const MEDIAN_SIZE = 0.6745;

/** Standard deviation, raw values, by second differences over neighbouring instants of one stretch (their variance is six times the noise's). */
export function roughnessOf(bends: Float64Array): number {
  return bends.length > 0 ? median(bends) / MEDIAN_SIZE / Math.sqrt(6) : 0;
}

/**
 * What reading straight between fresh values misses of a course with corners, raw values: a corner that falls between two readings is cut by up to
 * a quarter of its second difference, by half of that on the average over where it may fall.
 */
export function cornersCut(bends: Float64Array): number {
  const squares = bends.reduce((sum, bend) => sum + bend ** 2, 0);
  return bends.length > 0 ? Math.sqrt(squares / bends.length) / 8 : 0;
}

/** What rounding to steps of a quantum leaves. */
export const roundingOf = (quantum: number): number => quantum / Math.sqrt(12);
