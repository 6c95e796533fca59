/** Scores what the survey says of one recording's timing against what is true: senders, kinds, periods, replies, copies, losses. */
import type { Survey, SurveyFrame } from '../../src/timing/types.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import type { TimingTruth, TrueTiming } from './timing-scorecard-truth.ts';
import { scoreClock, scoreLoggers, type LoggerError } from './timing-scorecard-clock.ts';
import { scoreModes } from './timing-scorecard-modes.ts';
import type { Claims } from './support/claims.ts';
import { adjustedRandIndex, countConfident, pairScore } from './support/score-groups.ts';

export interface TimingScore {
  readonly name: string;
  readonly senders: {
    readonly index: number;
    readonly precision: number;
    readonly recall: number;
    readonly identifiers: number;
    /** Memberships of 0.9 and more, and those with most of their group from their own module. */
    readonly confident: number;
    readonly right: number;
  };
  /** [true kind, found kind, whether that is right] of each identifier with frames enough. */
  readonly kinds: readonly (readonly [truth: string, found: string, right: boolean])[];
  /** Relative error of each period found, and how many are there to be found. */
  readonly periodErrors: readonly number[];
  readonly periods: number;
  readonly replies: Claims;
  readonly copies: Claims;
  /** Borders between modes. */
  readonly turns: Claims;
  /** Periods of identifiers whose period changes with the mode, one for each mode that lasts. */
  readonly modePeriods: Claims;
  /** Jumps, restarts and holes of the logger's clock. */
  readonly clock: Claims;
  /** Resolution, and whether frames were fetched several at a time. */
  readonly stamps: Claims;
  /** Frames lost, or counted by their module and not sent; those that counters are said to miss; and over all identifiers, null where no rate is told. */
  readonly lost: { readonly true: number; readonly byCounters: number; readonly inAll: number | null };
  /** Of each logger beyond the first. */
  readonly loggers: readonly LoggerError[];
  /** For a person who looks into it: the wrong ones. */
  readonly wrong: readonly string[];
}

/** Fewer frames tell no kind. */
const FRAMES_LEAST = 8;

export interface Pair {
  readonly key: string;
  readonly truth: TrueTiming;
  readonly found: SurveyFrame;
}

function pairUp(survey: Survey, truth: TimingTruth): Pair[] {
  return survey.frames.flatMap((found) => {
    const key = frameKey(found);
    const own = truth.identifiers.get(key);
    return own && found.direction === 'received' ? [{ key, truth: own, found }] : [];
  });
}

function scoreSenders(pairs: readonly Pair[], survey: Survey): TimingScore['senders'] {
  const own = pairs.filter(({ truth }) => truth.kind === 'periodic' && truth.copyOf === null);
  const labels = own.map(({ key, truth, found }) => [truth.module, found.group ?? key] as const);
  const { precision, recall } = pairScore(labels);
  const moduleOf = new Map(pairs.map(({ key, truth }) => [key, truth.module]));
  const index = adjustedRandIndex(labels);
  return {
    index,
    precision: orOne(precision),
    recall: orOne(recall),
    identifiers: own.length,
    ...countConfident(survey.groups, (member) => moduleOf.get(frameKey(member)) ?? ''),
  };
}

const orOne = (value: number): number => (Number.isNaN(value) ? 1 : value);

function scoreKinds(pairs: readonly Pair[]): TimingScore['kinds'] {
  return pairs
    .filter(({ truth, found }) => found.count >= FRAMES_LEAST && truth.network !== 'ring')
    .map(({ truth, found }) => {
      const kind = found.timing.kind;
      return [truth.kind, kind, kind === truth.kind || truth.alsoRight.includes(kind)] as const;
    });
}

function scorePeriods(pairs: readonly Pair[]): Pick<TimingScore, 'periodErrors' | 'periods'> {
  const own = pairs.filter(({ truth, found }) => truth.periodMs !== null && found.count >= FRAMES_LEAST);
  const told = own.filter(({ found }) => found.timing.periodMs !== null);
  const errorOf = ({ truth, found }: Pair): number =>
    Math.abs((found.timing.periodMs as number) / (truth.periodMs as number) - 1);
  return { periods: own.length, periodErrors: told.map(errorOf) };
}

function claims(pairs: readonly Pair[], truth: (pair: Pair) => string | null, found: (pair: Pair) => string | null) {
  const [right, wrong, missed] = [
    pairs.filter((pair) => found(pair) !== null && found(pair) === truth(pair)).length,
    pairs.filter((pair) => found(pair) !== null && found(pair) !== truth(pair)).length,
    pairs.filter((pair) => truth(pair) !== null && found(pair) !== truth(pair)).length,
  ];
  return { right, wrong, missed };
}

const replyOf = ({ found }: Pair): string | null =>
  found.timing.kind === 'reply' ? `${found.bus}/${found.timing.replyTo}` : null;
const trueReplyOf = ({ truth }: Pair): string | null => truth.replyTo?.replace(/x$/, '') ?? null;

function wrongOnes(pairs: readonly Pair[]): string[] {
  return pairs.flatMap(({ key, truth, found }) => {
    const { kind, periodMs } = found.timing;
    const isRight = kind === truth.kind || truth.alsoRight.includes(kind) || truth.network === 'ring';
    const off = truth.periodMs !== null && periodMs !== null ? periodMs / truth.periodMs - 1 : 0;
    if (found.count < FRAMES_LEAST || (isRight && Math.abs(off) < 0.01)) return [];
    const was = `${truth.kind} ${truth.periodMs?.toPrecision(6) ?? ''}`;
    return [`${key} (n ${found.count}) is ${was}, called ${kind} ${periodMs ?? ''}: ${found.timingWhy}`];
  });
}

export function scoreTiming(name: string, survey: Survey, truth: TimingTruth): TimingScore {
  const pairs = pairUp(survey, truth);
  const { lost, loggers } = survey.capture.clock;
  const copyOf = ({ found }: Pair): string | null => found.copyOf && frameKey(found.copyOf);
  return {
    name,
    senders: scoreSenders(pairs, survey),
    kinds: scoreKinds(pairs),
    ...scorePeriods(pairs),
    // Each node of a ring answers its predecessor: right in its way, and no question.
    replies: claims(
      pairs.filter(({ truth: own }) => own.network !== 'ring'),
      trueReplyOf,
      replyOf,
    ),
    copies: claims(pairs, ({ truth: own }) => own.copyOf, copyOf),
    ...scoreModes(pairs, survey, truth),
    ...scoreClock(survey.capture.clock, truth),
    lost: { true: truth.lost + truth.dropped, byCounters: lost?.frames ?? 0, inAll: lost?.inAll?.frames ?? null },
    loggers: scoreLoggers(loggers, truth, survey.capture.durationS / 2),
    wrong: wrongOnes(pairs),
  };
}
