/**
 * The evidence of every field for every action at a known offset: how surprising the answer is at the best lag near the marks,
 * how often the same field does as well at other shifts, and the pool of all shifts that p-values are counted in.
 */
import { circularMaximum } from '../kit/statistics/sliding.ts';
import { wrap } from '../kit/statistics/shifts.ts';
import { median } from '../kit/statistics/order.ts';
import { surpriseOverShifts, type FieldView, type ScanScratch } from './field-view.ts';
import { shiftCount, SHIFT_S, type Circle } from './grid.ts';
import { addToPool, nullPool, type NullPool } from './null-pool.ts';
import type { ActionPlan, Question } from './plan.ts';

/** Lags at which an answer is looked for, seconds after the mark: a person may also mark late. */
const LAG_FROM_S = -0.8;
const LAG_TO_S = 2;
export const LAG_FROM = Math.round(LAG_FROM_S / SHIFT_S);
export const LAG_TO = Math.round(LAG_TO_S / SHIFT_S);

export interface Evidence {
  readonly candidate: number;
  readonly question: Question;
  readonly surprise: number;
  /** Lag of the greatest surprise, in shifts. */
  readonly lag: number;
  /** Share of the field's own shifts elsewhere that do as well. */
  readonly ownShare: number;
}

export interface ActionEvidence {
  readonly plan: ActionPlan;
  readonly pool: NullPool;
  readonly evidence: Evidence[];
  /** Shifts left out on each side of the offset. */
  readonly margin: number;
}

/** Shifts so near that the marks still overlap themselves are not chance. */
function nearMargin(plan: ActionPlan, circle: Circle): number {
  const lengths = plan.marks.flatMap(({ startS, endS }) => (endS === null ? [] : [endS - startS]));
  const wantedS = Math.max(6, 1.5 * (lengths.length > 0 ? median(lengths) : 0) + 2);
  return Math.round(Math.min(wantedS / SHIFT_S, shiftCount(circle) / 6));
}

export const newEvidence = (plans: readonly ActionPlan[], circle: Circle): ActionEvidence[] =>
  plans.map((plan) => ({ plan, pool: nullPool(), evidence: [], margin: nearMargin(plan, circle) }));

export interface EvidenceScratch extends ScanScratch {
  readonly lagged: Float64Array;
}

export const evidenceScratch = (scan: ScanScratch): EvidenceScratch => ({
  ...scan,
  lagged: new Float64Array(scan.sum.length),
});

function bestLag(surprises: Float64Array, shift: number): number {
  let best = LAG_FROM;
  let least = -1;
  for (let lag = LAG_FROM; lag <= LAG_TO; lag++) {
    const value = surprises[wrap(shift + lag, surprises.length)] as number;
    if (value > least) [best, least] = [lag, value];
  }
  return best;
}

/** Share of shifts from..to (wrapping round) whose value reaches `level`. */
function shareReaching(values: Float64Array, from: number, count: number, level: number): number {
  const end = Math.min(values.length, from + count);
  const wrapped = from + count - end;
  let reached = 0;
  for (let k = from; k < end; k++) if ((values[k] as number) >= level) reached++;
  for (let k = 0; k < wrapped; k++) if ((values[k] as number) >= level) reached++;
  return count > 0 ? reached / count : 1;
}

/** Puts one field to all questions of all actions. */
export function addEvidence(
  actions: readonly ActionEvidence[],
  candidate: number,
  view: FieldView,
  shift: number,
  scratch: EvidenceScratch,
): void {
  for (const { plan, pool, evidence, margin } of actions) {
    for (const question of plan.questions) {
      const surprises = surpriseOverShifts(view, question, scratch);
      const lagged = circularMaximum(surprises, LAG_FROM, LAG_TO, scratch.lagged);
      const n = lagged.length;
      const here = wrap(shift, n);
      const from = (here + margin + 1) % n;
      const count = n - 2 * margin - 1;
      addToPool(pool, lagged, from, Math.min(n, from + count));
      if (from + count > n) addToPool(pool, lagged, 0, from + count - n);
      const seen = lagged[here] as number;
      const ownShare = shareReaching(lagged, from, count, seen);
      evidence.push({ candidate, question, surprise: seen, lag: bestLag(surprises, shift), ownShare });
    }
  }
}
