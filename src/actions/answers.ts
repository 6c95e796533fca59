/**
 * Which steps of a story answer another sender's request: the flag of the one turns, and a fixed short time later a state or flag of the other does, each time that the story was
 * seen and nowhere in the capture otherwise. Where another step lies between them and keeps time as well, that may be what was waited for, and nothing is said.
 */
import type { Change } from './tellers.ts';
import type { StepAnswer } from './types.ts';

/** A partner on the bus answers within so much, and delays that differ by no more than this are fixed; both beside what frames leave open. */
const SHORT_S = 0.15;
const FIXED_S = 0.08;
/** Fewer would be chance among so many steps. */
const TIMES_LEAST = 3;
/** Of two requests that might be meant one must keep time so much better. */
const CLEARLY = 0.7;

export interface AnswerSide {
  /** [repetitions] seconds; NaN where it did not come. */
  readonly atS: readonly number[];
  /** Over the whole capture, of its kind. */
  readonly changes: readonly Change[];
  /** Null where it is not known: then nobody can say that it is another one's. */
  readonly sender: string | null;
  readonly isFlag: boolean;
  /** Between frames, seconds. */
  readonly intervalS: number;
}

interface Tie {
  readonly step: number;
  readonly low: number;
  readonly high: number;
  readonly mean: number;
  /** What frames leave open in it. */
  readonly sd: number;
}

/** What frames leave open of a delay, one standard deviation: either change waits up to an interval for its frame. */
const openS = (a: AnswerSide, b: AnswerSide): number => Math.hypot(a.intervalS, b.intervalS) / Math.sqrt(12);

/** How a step keeps time with one before it; null where one of them came without the other. */
function tieOf(before: AnswerSide, after: AnswerSide, step: number): Tie | null {
  const delays: number[] = [];
  for (const [k, atS] of after.atS.entries()) {
    const delay = atS - (before.atS[k] as number);
    if (Number.isNaN(atS) !== Number.isNaN(before.atS[k] as number)) return null;
    if (!Number.isNaN(delay)) delays.push(delay);
  }
  if (delays.length < TIMES_LEAST) return null;
  const mean = delays.reduce((sum, delay) => sum + delay, 0) / delays.length;
  if (mean <= 0) return null;
  const sd = Math.sqrt(delays.reduce((sum, delay) => sum + (delay - mean) ** 2, 0) / delays.length);
  return { step, low: Math.min(...delays), high: Math.max(...delays), mean, sd: Math.hypot(sd, openS(before, after)) };
}

/** Times over the capture that the one came behind the other; null where one of them came without the other. */
function timesTogether(request: AnswerSide, answer: AnswerSide, { low, high }: Tie): number | null {
  const roomS = request.intervalS + answer.intervalS;
  const isBehind = (at: number, from: number): boolean => at - from >= low - roomS && at - from <= high + roomS;
  const isAnswered = request.changes.every(({ atS }) => answer.changes.some((other) => isBehind(other.atS, atS)));
  const isAsked = answer.changes.every(({ atS }) => request.changes.some((other) => isBehind(atS, other.atS)));
  return isAnswered && isAsked ? answer.changes.length : null;
}

function isRequest(request: AnswerSide, answer: AnswerSide, { low, high, mean }: Tie): boolean {
  const roomS = request.intervalS + answer.intervalS;
  const isFixed = high - low <= FIXED_S + roomS && low > -request.intervalS;
  const isOthers = request.sender !== null && answer.sender !== null && request.sender !== answer.sender;
  return request.isFlag && isOthers && mean <= SHORT_S + roomS / 2 && isFixed;
}

function answerOf(steps: readonly (AnswerSide | null)[], at: number): StepAnswer | null {
  const answer = steps[at];
  if (!answer) return null;
  const ties = steps.flatMap((before, step) => (before && step !== at ? (tieOf(before, answer, step) ?? []) : []));
  const sideOf = ({ step }: Tie): AnswerSide => steps[step] as AnswerSide;
  const [tie, second] = ties.filter((one) => isRequest(sideOf(one), answer, one)).toSorted((a, b) => a.sd - b.sd);
  if (!tie || (second && tie.sd > CLEARLY * second.sd)) return null;
  if (ties.some((one) => one !== tie && one.mean <= tie.mean && one.sd <= tie.sd)) return null;
  const times = timesTogether(sideOf(tie), answer, tie);
  if (times === null) return null;
  const delayMs = [Math.round(Math.max(0, tie.low) * 1000), Math.round(tie.high * 1000)] as const;
  return { step: tie.step, delayMs, times };
}

/** [steps] what each answers; null where it answers nothing, as far as can be told. */
export const answersOf = (steps: readonly (AnswerSide | null)[]): (StepAnswer | null)[] =>
  steps.map((_, at) => answerOf(steps, at));
