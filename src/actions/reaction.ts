/**
 * The offset to a few hundredths of a second: for each action the moment at which its earliest sure responder begins to change
 * is set against each mark, and the middle of those differences is the clocks' offset and the
 * person's mean reaction together. Actions whose first answer comes late (nothing on this bus shows
 * them directly) would draw it away, so only those that answer about as early as the earliest count.
 */
import { median, robustSd, trimmedMean } from '../kit/statistics/order.ts';
import { changeTimes } from './change-time.ts';
import { seriesOf, type Candidate } from '../map/proposed-fields.ts';
import { GRID_S, SHIFT_S } from './grid.ts';
import type { ActionEvidence, Evidence } from './evidence.ts';

const STRONG_SHARE = 0.6;
const RESPONDERS_MAX = 10;
const SAME_TIME_S = 0.15;
const MARKS_LEAST = 3;

/** Where and how wide to look for a field's change around a mark. */
export function changeSearch(evidence: Evidence, intervalS: number): Parameters<typeof changeTimes>[2] {
  const points = evidence.question.trains[0]?.events[0]?.kernel.points ?? 10;
  const aroundS = evidence.lag * SHIFT_S;
  return { widthS: Math.min(0.5, points * GRID_S), earliestS: aroundS - 0.7, latestS: aroundS + 0.7, intervalS };
}

export function usualIntervalS(timeUs: Float64Array): number {
  const stride = Math.max(1, Math.floor(timeUs.length / 1000));
  const intervals: number[] = [];
  for (let i = stride; i < timeUs.length; i += stride)
    intervals.push(((timeUs[i] as number) - (timeUs[i - 1] as number)) / 1e6);
  return intervals.length > 0 ? median(intervals) : 0;
}

/** Seconds from each mark's place at the rough offset to the field's change; only marks that were answered. */
function answersOf(candidate: Candidate, evidence: Evidence, startsS: readonly number[]): number[] {
  const series = seriesOf(candidate);
  const { lagS } = changeTimes(series, startsS, changeSearch(evidence, usualIntervalS(series.timeUs)));
  return [...lagS].filter((lag) => !Number.isNaN(lag));
}

/** Of the strong responders at an action's start, the answers of the one that comes first. */
function earliestAnswers(action: ActionEvidence, candidates: readonly Candidate[], offsetS: number): number[] {
  const onsets = action.evidence.filter(({ question }) => question.direction === 'onset');
  const strongest = onsets.toSorted((a, b) => b.surprise - a.surprise).slice(0, RESPONDERS_MAX);
  const level = STRONG_SHARE * (strongest[0]?.surprise ?? 0);
  const startsS = action.plan.marks.map(({ startS }) => startS + offsetS);
  const answers = strongest
    .filter(({ surprise }) => surprise >= level)
    .map((evidence) => answersOf(candidates[evidence.candidate] as Candidate, evidence, startsS))
    .filter((lags) => lags.length >= Math.max(MARKS_LEAST, 0.5 * startsS.length));
  return answers.toSorted((a, b) => median(a) - median(b))[0] ?? [];
}

export interface FineOffset {
  readonly offsetS: number;
  readonly seS: number;
}

/** Offset and standard error from the actions that stand out; null where none does with enough marks. */
export function fineOffset(
  sure: readonly ActionEvidence[],
  candidates: readonly Candidate[],
  roughS: number,
): FineOffset | null {
  const perAction = sure.map((action) => earliestAnswers(action, candidates, roughS)).filter((lags) => lags.length > 0);
  if (perAction.length === 0) return null;
  const first = Math.min(...perAction.map((lags) => median(lags)));
  const prompt = perAction.filter((lags) => median(lags) <= first + SAME_TIME_S);
  const centred = prompt.flatMap((lags) => lags);
  const spreadS = Math.max(robustSd(centred), 0.01);
  const middle = median(centred);
  const kept = centred.filter((lag) => Math.abs(lag - middle) <= 4 * spreadS);
  return { offsetS: roughS + trimmedMean(kept, 0.1), seS: (1.05 * spreadS) / Math.sqrt(kept.length) };
}
