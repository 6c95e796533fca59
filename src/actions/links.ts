/**
 * One claim in the words of the map: effect in raw units with an interval by resampling the repetitions, effect in
 * robust standard deviations of the field's responses at random times, lag, and the states that marks name.
 */
import type { Random } from '../kit/random.ts';
import { mean, median, quantile, quantileSorted, robustSd, sorted, variance } from '../kit/statistics/order.ts';
import { placeOfCandidate, type Candidate } from '../map/proposed-fields.ts';
import { changeTimes } from './change-time.ts';
import type { Claim } from './claims.ts';
import type { Evidence } from './evidence.ts';
import { sumAtShift, type FieldView } from './field-view.ts';
import { isLasting } from './kernels.ts';
import { SHIFT_S, SHIFT_STRIDE, shiftIndex, type GriddedField } from './grid.ts';
import type { ActionPlan, Train } from './plan.ts';
import { movesOf } from './moves.ts';
import type { AnsweringSeries } from './pace.ts';
import type { TimedLink } from './ranking.ts';
import { changeSearch, densest, eventsOf, keptLags } from './reaction.ts';
import { statesOf } from './states.ts';
import type { Link } from './types.ts';

const RESAMPLES = 999;

/** Where things stand: the shift that evidence was taken at, and the offset that is reported. */
export interface Standpoint {
  readonly shift: number;
  /** Seconds added to the marks before the analysis is reported; lags are against this. */
  readonly offsetS: number;
}

/** The train of a question that is the more surprising one at the evidence's lag. */
function answeringTrain(view: FieldView, { question, lag }: Evidence, shift: number): Train {
  const [first, second] = question.trains;
  if (!second) return first as Train;
  const at = shift + lag;
  const share = (train: Train): number => Math.abs(sumAtShift(view, train, at)) / train.events.length;
  // Sizes of changes are never smaller than the mean change: they count where signs cancel by a third or more.
  return share(second) > 1.5 * share(first as Train) ? second : (first as Train);
}

/** Responses at each mark that has data on both sides. */
function responsesAt(view: FieldView, field: GriddedField, train: Train, shift: number): number[] {
  return train.events.flatMap(({ atS, kernel }) => {
    const at = (shiftIndex(view.circle, atS) + shift) * SHIFT_STRIDE;
    const end = at + (isLasting(kernel) ? kernel.points : kernel.points - 1);
    const inside = at - kernel.points >= 0 && end < field.present.length;
    if (!inside || !field.present[at] || !field.present[end]) return [];
    return [view.response(kernel)[at / SHIFT_STRIDE] as number];
  });
}

/** 95 % interval of the mean by resampling, widened for the small number it was resampled from. */
function resampledInterval(values: readonly number[], random: Random): [number, number] {
  const n = values.length;
  const middle = n > 0 ? mean(values) : 0;
  if (n < 3) return [Math.min(middle, ...values), Math.max(middle, ...values)];
  const means = Float64Array.from({ length: RESAMPLES }, () => {
    let sum = 0;
    for (let i = 0; i < n; i++) sum += values[random.below(n)] as number;
    return sum / n;
  }).sort();
  const widen = Math.sqrt(n / (n - 1)) * (1 + 1.6 / n);
  return [middle + widen * (quantile(means, 0.025) - middle), middle + widen * (quantile(means, 0.975) - middle)];
}

/**
 * Spread of a field's responses at random times, as a normal's sd: from the median deviation, or from the middle nine
 * tenths where those are wider (fields that rest most of the time), or plain where all of that is zero.
 */
function responseSd(response: Float64Array): number {
  const every = Math.max(1, Math.floor(response.length / 1500));
  const sample = sorted(response.filter((_, k) => k % every === 0));
  const middle = (quantileSorted(sample, 0.95) - quantileSorted(sample, 0.05)) / (2 * 1.645);
  const robust = Math.max(robustSd(sample), middle);
  return robust > 0 ? robust : Math.sqrt(variance(response));
}

export interface LinkContext {
  readonly plan: ActionPlan;
  readonly candidate: Candidate;
  readonly series: AnsweringSeries;
  readonly field: GriddedField;
  readonly view: FieldView;
  readonly standpoint: Standpoint;
  readonly random: Random;
}

/** Median time from mark to the beginning of the change, the coarse lag where too few marks show it; how many marks it keeps time with, and when it answered those. */
function timingOf({ plan, candidate, series, field, standpoint }: LinkContext, { evidence }: Claim) {
  const roughOffsetS = standpoint.shift * SHIFT_S;
  const late = roughOffsetS - standpoint.offsetS;
  const events = eventsOf(evidence.question.direction, plan.marks).map((atS) => atS + roughOffsetS);
  const { lagS } = changeTimes(series, events, changeSearch(evidence, plan.marks, candidate, field.intervalS));
  const seen = [...lagS].filter((lag) => !Number.isNaN(lag));
  const inTime = densest(seen);
  const isSeen = inTime.length >= Math.max(1, events.length / 3);
  return {
    lagS: (isSeen ? median(inTime) : evidence.lag * SHIFT_S) + late,
    inTime: inTime.length,
    lags: keptLags(lagS, inTime),
  };
}

const round = (value: number, digits: number): number => Number(value.toPrecision(digits));

/** The full account of a claim. Cost: the field's frames near the marks, and the resampling. */
export function linkOf(claim: Claim, context: LinkContext): TimedLink {
  const { plan, candidate, view, field, standpoint, random } = context;
  const { evidence } = claim;
  const train = answeringTrain(view, evidence, standpoint.shift);
  const at = standpoint.shift + evidence.lag;
  const responses = responsesAt(view, field, train, at);
  const effect = responses.length > 0 ? mean(responses) : 0;
  const spread = responseSd(view.response((train.events[0] as Train['events'][number]).kernel));
  const states = statesOf(candidate, context.series, plan.marks, standpoint.offsetS);
  const { lagS, inTime, lags } = timingOf(context, claim);
  const link: Link = {
    ...placeOfCandidate(candidate),
    effect: round(effect, 6),
    effectSd: spread > 0 ? round(effect / spread, 4) : 0,
    effectInterval: resampledInterval(responses, random).map((end) => round(end, 6)) as [number, number],
    lagS: Math.round(lagS * 1000) / 1000,
    p: claim.p,
    q: claim.q,
    direction: evidence.question.direction,
    n: responses.length,
    surprise: round(evidence.surprise, 4),
    inTime,
    moves: movesOf(view, train, plan, at, effect),
    ...(train.alternating ? { alternating: true } : {}),
    ...(context.series.isPace ? { isPace: true } : {}),
    ...(states ? { states } : {}),
  };
  return { link, lags, intervalS: field.intervalS, isNumber: candidate.field.kind === 'number' };
}

/** What is known of a test that claims nothing, without the costly parts. */
export function plainLink(claim: Claim, { candidate, view, field, standpoint }: LinkContext): Link {
  const { evidence } = claim;
  const train = answeringTrain(view, evidence, standpoint.shift);
  const responses = responsesAt(view, field, train, standpoint.shift + evidence.lag);
  const effect = responses.length > 0 ? mean(responses) : 0;
  const half = responses.length > 1 ? 1.96 * Math.sqrt(variance(responses) / responses.length) : 0;
  const spread = responseSd(view.response((train.events[0] as Train['events'][number]).kernel));
  return {
    ...placeOfCandidate(candidate),
    effect: round(effect, 6),
    effectSd: spread > 0 ? round(effect / spread, 4) : 0,
    effectInterval: [round(effect - half, 6), round(effect + half, 6)],
    lagS: Math.round((evidence.lag * SHIFT_S + standpoint.shift * SHIFT_S - standpoint.offsetS) * 1000) / 1000,
    p: claim.p,
    q: claim.q,
    direction: evidence.question.direction,
    n: responses.length,
    surprise: round(evidence.surprise, 4),
  };
}
