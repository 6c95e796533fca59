/** Whether a quantity moved enough for anything to be scaled to it, and what to do if not. */
import { quantileSorted, sorted } from '../kit/statistics/order.ts';
import type { ReferenceSeries } from './types.ts';

const READINGS_LEAST = 3;
const READINGS_ENOUGH = 6;
/** A range of fewer steps of its own resolution says nothing about scale. */
const STEPS_LEAST = 4;
/** Below this share of its own size, a range is mostly the meter's noise. */
const SHARE_LEAST = 0.002;

const short = (value: number): string => String(Number(value.toPrecision(4)));

/** Smallest difference between distinct readings that is not rounding dust. */
function stepOf(ascending: Float64Array): number {
  const range = quantileSorted(ascending, 1) - quantileSorted(ascending, 0);
  let step = Number.POSITIVE_INFINITY;
  for (let i = 1; i < ascending.length; i++) {
    const difference = (ascending[i] as number) - (ascending[i - 1] as number);
    if (difference > 1e-6 * range && difference < step) step = difference;
  }
  return step;
}

/** Null where a fit may be tried; otherwise why not, for a person. */
export function whyNotFitted({ name, unit, value }: ReferenceSeries): string | null {
  const n = value.length;
  if (n < READINGS_LEAST) {
    return `not enough evidence: ${n} reading${n === 1 ? '' : 's'} of ${name}; ${READINGS_ENOUGH - n} more would do`;
  }
  const ascending = sorted(value);
  const low = quantileSorted(ascending, 0);
  const high = quantileSorted(ascending, 1);
  const core = n >= 20 ? quantileSorted(ascending, 0.95) - quantileSorted(ascending, 0.05) : high - low;
  const size = Math.max(Math.abs(low), Math.abs(high));
  const coarse = n >= 20 && core < STEPS_LEAST * Math.min(stepOf(ascending), core);
  const range = `${short(low)} to ${short(high)} ${unit}`.trim();
  if (high === low || core < SHARE_LEAST * size || coarse) {
    return `not enough evidence: ${name} hardly changed (${range}); record it over a wider range`;
  }
  return null;
}
