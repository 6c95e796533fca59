/** How a field behaves in each of several captures: where it stands, and how far it moves. */
import { lowerBound, upperBound } from '../frames/pictures/columns.ts';
import { mean } from '../kit/statistics/order.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import type { Stretch } from './joined-captures.ts';
import { answeringSeries } from './pace.ts';

/** Deviation of rounding to whole raw units: no number is known better. */
export const ROUNDING_SD = 1 / Math.sqrt(12);

export interface Behaviour {
  readonly candidate: Candidate;
  /** [captures] mean raw value, and greatest less least. */
  readonly level: readonly number[];
  readonly span: readonly number[];
}

/** Null where it never moves, or some capture lacks it. */
export function behaviourOf(candidate: Candidate, stretches: readonly Stretch[]): Behaviour | null {
  const { timeUs, value } = answeringSeries(candidate);
  const level: number[] = [];
  const span: number[] = [];
  for (const { fromUs, toUs } of stretches) {
    const own = value.subarray(lowerBound(timeUs, fromUs), upperBound(timeUs, toUs));
    // A field that some capture lacks cannot be compared over all of them.
    if (own.length === 0) return null;
    const [least, greatest] = own.reduce(([a, b], v) => [Math.min(a, v), Math.max(b, v)], [Infinity, -Infinity]);
    level.push(mean(own));
    span.push((greatest as number) - (least as number));
  }
  return new Set([...level, ...span.map((v) => v + (level[0] as number))]).size > 1 ? { candidate, level, span } : null;
}

/** A number is not known better than its rounding; what a state never did in n captures it may do in about one of n. */
export const floorOf = ({ candidate, level }: Behaviour): number =>
  candidate.field.kind === 'number' ? ROUNDING_SD : 1 / level.length;
