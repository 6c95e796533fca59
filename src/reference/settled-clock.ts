/**
 * The clock of the readings, once fields are known: all quantities of one file were stamped by one clock, so the shifts at
 * which their best fields go with them are estimates of one offset, of which the weighted median counts (a late receiver or
 * a late field must not move it). Its error is widened where they disagree (Birge 1932).
 */
import type { Shift } from './shift.ts';

/** Fields show what was up to about so long ago, each by another time: common practice, no source. */
const FIELD_AGE_SD_S = 0.05;
/** Beyond so many standard errors a shift is another delay and no error. */
const ANOTHER_DELAY = 3;
/** No estimate counts for more than one that is so sure. */
const SE_LEAST_S = 0.01;

/** Null of none that tells. */
export function agreedShift(estimates: readonly Shift[]): Shift | null {
  const known = estimates.filter(({ seS }) => Number.isFinite(seS)).sort((a, b) => a.shiftS - b.shiftS);
  if (known.length === 0) return null;
  const weights = known.map(({ seS }) => 1 / (seS ** 2 + SE_LEAST_S ** 2));
  const total = weights.reduce((sum, weight) => sum + weight, 0);
  let below = 0;
  const middle = known.findIndex((_, i) => (below += weights[i] as number) >= total / 2);
  const { shiftS } = known[middle] as Shift;
  const misses = known.map((one, i) => Math.sqrt(weights[i] as number) * Math.abs(one.shiftS - shiftS));
  // Mean size of a standard normal is 0.8: sizes, as squares would let one late receiver speak for all.
  const disagreement = misses.reduce((sum, miss) => sum + miss, 0) / Math.max(1, known.length - 1) / 0.8;
  return { shiftS, seS: Math.sqrt(1 / total) * Math.max(1, disagreement) };
}

/** One field's own shift, drawn to the clock's as far as its error allows; kept where it is plainly another delay. */
export function shiftAtClock(own: Shift, clock: Shift): Shift {
  const allowed = FIELD_AGE_SD_S ** 2 + clock.seS ** 2;
  if (!Number.isFinite(own.seS)) return { shiftS: clock.shiftS, seS: Math.sqrt(allowed) };
  const variance = own.seS ** 2;
  if (Math.abs(own.shiftS - clock.shiftS) > ANOTHER_DELAY * Math.sqrt(variance + allowed)) return own;
  const share = allowed / (allowed + variance);
  return {
    shiftS: clock.shiftS + share * (own.shiftS - clock.shiftS),
    seS: Math.sqrt((allowed * variance) / (allowed + variance)),
  };
}
