/**
 * How well marks and capture agree at every shift of the marks' clock: the sum over actions of the greatest
 * surprise that any field shows. Where a clear peak stands out of what shifts elsewhere reach, that shift is
 * the clocks' offset (the person's mean reaction included). Chance is read from the shifts
 * outside the search, and its tail carried on as exponential (Pickands 1975; surprise is in nats, so its tail
 * is near exponential by construction), counted for every independent offset searched.
 */
import { mean, quantile } from '../kit/statistics/order.ts';
import { wrap } from '../kit/statistics/shifts.ts';
import { newBestSurprise, raiseBest, type BestSurprise } from './best-surprise.ts';
import type { FieldView, ScanScratch } from './field-view.ts';
import { shiftCount, SHIFT_S, type Circle } from './grid.ts';
import type { ActionPlan } from './plan.ts';

/** Offsets nearer than this share their agreement. */
const INDEPENDENT_S = 1;
const CHANCE = 0.001;
const TAIL_SHARE = 0.95;
const AROUND_PEAK_S = 6;
const ELSEWHERE_LEAST_S = 60;

export interface Agreement {
  /** For each action the greatest surprise of any field and direction at every shift. */
  readonly best: readonly BestSurprise[];
}

export const newAgreement = (plans: readonly ActionPlan[], circle: Circle): Agreement => ({
  best: plans.map(() => newBestSurprise(shiftCount(circle))),
});

export function addAgreement(
  agreement: Agreement,
  plans: readonly ActionPlan[],
  view: FieldView,
  scratch: ScanScratch,
): void {
  plans.forEach((plan, action) => {
    const best = agreement.best[action] as BestSurprise;
    for (const question of plan.questions) raiseBest(best, view, question, scratch);
  });
}

/** Offsets to search, in shifts from the marks as they are: from..to, both included. */
export interface SearchRange {
  readonly from: number;
  readonly to: number;
}

export interface Peak {
  /** Shift with the greatest agreement, in steps of SHIFT_S. */
  readonly shift: number;
  readonly agreement: number;
  /** Agreement that chance reaches once in a thousand searches. */
  readonly chance: number;
  /** The next best agreement more than two seconds away, and where; null where the search is too narrow. */
  readonly runnerUp: { readonly shift: number; readonly agreement: number } | null;
  readonly curve: { readonly offsetS: number[]; readonly agreement: number[] };
  /** Typical agreement of shifts elsewhere. */
  readonly typical: number;
}

function totalAgreement({ best }: Agreement): Float64Array {
  const total = new Float64Array(best[0]?.value.length ?? 0);
  for (const { value } of best)
    for (let k = 0; k < total.length; k++) total[k] = (total[k] as number) + (value[k] as number);
  return total;
}

/** Agreement at shifts that cannot be the answer: outside the search, or away from its peak where it covers nearly all. */
function elsewhere(total: Float64Array, range: SearchRange, peak: number): number[] {
  const n = total.length;
  const keep = (isIn: (shift: number) => boolean): number[] => {
    const kept: number[] = [];
    for (let k = 0; k < n; k++) if (!isIn(k)) kept.push(total[k] as number);
    return kept;
  };
  const margin = AROUND_PEAK_S / SHIFT_S;
  const width = range.to - range.from + 2 * margin;
  if ((n - width) * SHIFT_S >= ELSEWHERE_LEAST_S) return keep((k) => wrap(k - range.from + margin, n) <= width);
  return keep((k) => wrap(k - peak + margin, n) <= 2 * margin);
}

function chanceLevel(values: readonly number[], searched: number): number {
  const start = quantile(values, TAIL_SHARE);
  const excess = values.filter((value) => value > start).map((value) => value - start);
  const scale = excess.length > 0 ? mean(excess) : 0;
  const independent = Math.max(1, (searched * SHIFT_S) / INDEPENDENT_S);
  return start + scale * Math.log(((1 - TAIL_SHARE) * independent) / CHANCE);
}

function greatest(
  total: Float64Array,
  range: SearchRange,
  skip: (shift: number) => boolean,
): { shift: number; agreement: number } | null {
  let best: { shift: number; agreement: number } | null = null;
  for (let shift = range.from; shift <= range.to; shift++) {
    if (skip(shift)) continue;
    const agreement = total[wrap(shift, total.length)] as number;
    if (!best || agreement > best.agreement) best = { shift, agreement };
  }
  return best;
}

/** The peak of the agreement over the offsets searched. */
export function findPeak(agreement: Agreement, range: SearchRange): Peak {
  const total = totalAgreement(agreement);
  const peak = greatest(total, range, () => false) ?? { shift: 0, agreement: 0 };
  const others = elsewhere(total, range, wrap(peak.shift, total.length));
  const apart = 2 / SHIFT_S;
  const shifts = Array.from({ length: range.to - range.from + 1 }, (_, i) => range.from + i);
  return {
    ...peak,
    chance: chanceLevel(others, range.to - range.from + 1),
    runnerUp: greatest(total, range, (shift) => Math.abs(shift - peak.shift) <= apart),
    typical: quantile(others, 0.5),
    curve: {
      offsetS: shifts.map((shift) => Math.round(shift * SHIFT_S * 1000) / 1000),
      agreement: shifts.map((shift) => total[wrap(shift, total.length)] as number),
    },
  };
}
