/**
 * Between which paces an identifier kept: the mean interval over short runs of frames. A module changes its rate with its mode; a
 * rate that the one capture has seen for a while is no change in the other.
 */
import type { Stream } from '../../frames/table.ts';
import { mean, quantileSorted } from '../../kit/statistics/order.ts';
import { median } from '../../timing/robust.ts';
import { intervals } from '../../timing/kinds/intervals.ts';
import type { IdentifierProfile } from './profile-types.ts';

/** Intervals in one run: jitter and coarse stamps average out over it. */
const RUN = 12;
/** A longer interval than so many usual ones is a silence, not a pace. */
const SILENCE = 12;
/** Runs at the edges that may be anything: a start, a lost burst. */
const EDGE_SHARE = 0.02;

/** O(n). */
export function paceOf(stream: Stream): IdentifierProfile['paceMs'] {
  const spacing = intervals(stream.timeUs);
  if (spacing.length < 2 * RUN) return null;
  // Batches give many intervals of zero: then the mean is the usual one.
  const limit = SILENCE * Math.max(median(spacing), mean(spacing));
  const means: number[] = [];
  let [sum, n] = [0, 0];
  for (const us of spacing) {
    if (us > limit) {
      [sum, n] = [0, 0];
      continue;
    }
    sum += us;
    if (++n < RUN) continue;
    means.push(sum / n / 1000);
    [sum, n] = [0, 0];
  }
  if (means.length < 2) return null;
  const sorted = Float64Array.from(means).sort();
  return { least: quantileSorted(sorted, EDGE_SHARE), most: quantileSorted(sorted, 1 - EDGE_SHARE) };
}
