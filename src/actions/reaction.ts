/**
 * The offset to a few hundredths of a second: for each action the moment at which its earliest sure responder begins to change
 * is set against each mark, and the middle of those differences is the clocks' offset and the person's
 * mean reaction together. Actions whose first answer comes late (nothing on this bus shows them directly) would
 * draw it away, so it is sought where most marks agree within the spread of human reactions.
 */
import { median, robustSd, trimmedMean } from '../kit/statistics/order.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import { changeTimes, type ChangeSearch } from './change-time.ts';
import { GRID_S, SHIFT_S } from './grid.ts';
import type { ActionEvidence, Evidence } from './evidence.ts';
import { slopeOf, type ClockSlope, type TimedLag } from './drift.ts';
import type { Setting } from './setting.ts';
import type { LinkDirection, Mark } from './types.ts';

const STRONG_SHARE = 0.6;
const RESPONDERS_MAX = 10;
const STEADY_RATIO = 1.4;
const STEADY_SLACK_S = 0.01;
/** Reactions to one kind of cue spread over about so much (simple visual 150-300 ms, choice 350-450 ms). */
const REACTION_WIDTH_S = 0.4;
const MARKS_LEAST = 3;

const clamp = (value: number, low: number, high: number): number => Math.min(Math.max(value, low), high);

/** How far from where a field answers most its change is looked for: what lasts a moment answers so far away from itself. */
const AROUND_S = 0.7;
const WIDTH_S = 0.5;

/** Where and how wide to look for a field's change around the marks' starts, or their ends. */
export function changeSearch(
  { lag, question }: Evidence,
  marks: readonly Mark[],
  { field }: Candidate,
  intervalS: number,
): ChangeSearch {
  const lengths = marks.flatMap(({ startS, endS }) => (endS === null ? [] : [endS - startS]));
  const lengthS = lengths.length > 0 ? median(lengths) : WIDTH_S;
  const aroundS = lag * SHIFT_S;
  // The change at a span's start is none at its end.
  const floorS = question.direction === 'release' ? -lengthS / 2 : -Infinity;
  const earliestS = Math.max(floorS, Math.min(aroundS, 0) - AROUND_S);
  const latestS = Math.max(aroundS, 0) + AROUND_S;
  return {
    widthS: clamp(lengthS * 0.8, 2 * GRID_S, WIDTH_S),
    earliestS,
    latestS,
    intervalS,
    isNumber: field.kind === 'number',
  };
}

/** Instants from which a question's lags count. */
export const eventsOf = (direction: LinkDirection, marks: readonly Mark[]): number[] =>
  direction === 'release'
    ? marks.flatMap(({ endS }) => (endS === null ? [] : [endS]))
    : marks.map(({ startS }) => startS);

/** Seconds between a field's frames. */
export function usualIntervalS(timeUs: Float64Array): number {
  const stride = Math.max(1, Math.floor(timeUs.length / 1000));
  const intervals: number[] = [];
  for (let i = stride; i < timeUs.length; i += stride)
    intervals.push(((timeUs[i] as number) - (timeUs[i - 1] as number)) / 1e6);
  return intervals.length > 0 ? median(intervals) : 0;
}

type Fields = Pick<Setting, 'candidates' | 'laid'>;

/** Seconds from each mark's place at the rough offset to the field's change; only marks that were answered. */
function answersOf(
  { candidates, laid }: Fields,
  evidence: Evidence,
  { action, marks }: ActionEvidence['plan'],
  offsetS: number,
): TimedLag[] {
  const candidate = candidates[evidence.candidate] as Candidate;
  const series = laid.series(candidate);
  const { direction } = evidence.question;
  const timed = marks.flatMap((mark, index) =>
    eventsOf(direction, [mark]).map((atS) => ({ atS: atS + offsetS, mark: `${action} ${index}` })),
  );
  const { lagS } = changeTimes(
    series,
    timed.map(({ atS }) => atS),
    changeSearch(evidence, marks, candidate, usualIntervalS(series.timeUs)),
  );
  return timed.flatMap((each, i) => {
    const lag = lagS[i] as number;
    return Number.isNaN(lag) ? [] : [{ ...each, lagS: lag, kind: `${action} ${direction}` }];
  });
}

interface Answers {
  readonly lags: readonly TimedLag[];
  readonly middleS: number;
  readonly spreadS: number;
}

/** Of the strong responders at an action's start, or its end, the first of those that keep time with the marks best. */
function earliestAnswers(
  action: ActionEvidence,
  fields: Fields,
  offsetS: number,
  direction: 'onset' | 'release',
): readonly TimedLag[] {
  const own = action.evidence.filter(({ question }) => question.direction === direction);
  const strongest = own.toSorted((a, b) => b.surprise - a.surprise).slice(0, RESPONDERS_MAX);
  const level = STRONG_SHARE * (strongest[0]?.surprise ?? 0);
  const { marks } = action.plan;
  const answers = strongest
    .filter(({ surprise }) => surprise >= level)
    .map((evidence) => answersOf(fields, evidence, action.plan, offsetS))
    .filter((lags) => lags.length >= Math.max(MARKS_LEAST, 0.5 * marks.length))
    .map((lags): Answers => {
      const lagS = lags.map((each) => each.lagS);
      return { lags, middleS: median(lagS), spreadS: robustSd(lagS) };
    });
  const steadiest = Math.min(...answers.map(({ spreadS }) => spreadS));
  const steady = answers.filter(({ spreadS }) => spreadS <= STEADY_RATIO * steadiest + STEADY_SLACK_S);
  return steady.toSorted((a, b) => a.middleS - b.middleS)[0]?.lags ?? [];
}

/** The lags of the stretch of REACTION_WIDTH_S that holds most, ascending. */
export function densest(lags: readonly number[]): readonly number[] {
  const ascending = lags.toSorted((a, b) => a - b);
  let best: readonly number[] = [];
  for (const from of ascending) {
    const inside = ascending.filter((lag) => lag >= from && lag <= from + REACTION_WIDTH_S);
    if (inside.length > best.length) best = inside;
  }
  return best;
}

/** [marks] those of the lags that are kept; NaN for the others. */
export const keptLags = (lagS: Float64Array, kept: readonly number[]): Float64Array =>
  lagS.map((lag) => (kept.includes(lag) ? lag : Number.NaN));

export interface FineOffset {
  readonly offsetS: number;
  readonly seS: number;
  readonly slope: ClockSlope | null;
}

/**
 * Offset and standard error from the actions that stand out; null where none does with enough marks.
 * @param taps lags of what was tapped at the beginning and the end of the recording: they tell of drift
 */
export function fineOffset(
  sure: readonly ActionEvidence[],
  fields: Fields,
  roughS: number,
  taps: readonly TimedLag[],
): FineOffset | null {
  const [starts, ends] = (['onset', 'release'] as const).map((direction) =>
    sure.flatMap((action) => earliestAnswers(action, fields, roughS, direction)),
  ) as [TimedLag[], TimedLag[]];
  if (starts.length === 0) return null;
  const lags = starts.map(({ lagS }) => lagS);
  const middle = median(densest(lags));
  const kept = lags.filter((lag) => Math.abs(lag - middle) <= 0.75 * REACTION_WIDTH_S);
  const spreadS = Math.max(robustSd(kept), 0.01);
  const seS = (1.05 * spreadS) / Math.sqrt(kept.length);
  return { offsetS: roughS + trimmedMean(kept, 0.1), seS, slope: slopeOf([...starts, ...ends, ...taps]) };
}
