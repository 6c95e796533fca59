/**
 * What is asked of every field for one action: does it step when the marks begin (onset), when they end (release),
 * does it differ while they last (level)? Each question is a train: the marks' grid places with the
 * response that is looked for at each. Shifting a train keeps the marks' spacing and lengths.
 */
import { median } from '../kit/statistics/order.ts';
import { GRID_S, type Circle } from './grid.ts';
import type { Kernel } from './kernels.ts';
import type { LinkDirection, Mark } from './types.ts';

interface TrainEvent {
  /** Seconds on the capture's clock at offset 0. */
  readonly atS: number;
  readonly kernel: Kernel;
}

export interface Train {
  /** Sizes of changes whatever their sign: for actions that alternate, and levers that go either way. */
  readonly alternating: boolean;
  readonly events: readonly TrainEvent[];
}

/** One direction of one action; where it has two trains, the more surprising one counts. */
export interface Question {
  readonly direction: LinkDirection;
  readonly trains: readonly Train[];
}

export interface ActionPlan {
  readonly action: string;
  /** In seconds from the capture's origin, before any offset, by start. */
  readonly marks: readonly Mark[];
  readonly questions: readonly Question[];
}

const STEP_LONGEST_S = 1;
const STEP_SHORTEST_S = 0.3;
/** Lengths of spans are rounded to steps of a quarter, so that few kernels serve all marks. */
const LENGTH_RATIO = 1.25;

const clamp = (value: number, low: number, high: number): number => Math.min(Math.max(value, low), high);

function stepPoints(marks: readonly Mark[]): number {
  const lengths = marks.flatMap(({ startS, endS }) => (endS === null ? [] : [endS - startS]));
  const gaps = marks.slice(1).map((mark, i) => mark.startS - (marks[i] as Mark).startS);
  const fromLength = lengths.length > 0 ? 0.8 * median(lengths) : STEP_LONGEST_S;
  const fromGap = gaps.length > 0 ? 0.4 * median(gaps) : STEP_LONGEST_S;
  return Math.round(clamp(Math.min(fromLength, fromGap), STEP_SHORTEST_S, STEP_LONGEST_S) / GRID_S);
}

function lastingPoints(lengthS: number, circle: Circle): number {
  const points = clamp(lengthS / GRID_S, STEP_SHORTEST_S / GRID_S, circle.points / 4);
  const power = Math.round(Math.log(points) / Math.log(LENGTH_RATIO));
  return Math.round(LENGTH_RATIO ** power);
}

const hasLength = (mark: Mark): mark is Mark & { endS: number } => mark.endS !== null && mark.endS > mark.startS;

function questionsOf(marks: readonly Mark[], circle: Circle): Question[] {
  const points = stepPoints(marks);
  const spans = marks.filter(hasLength);
  const step = (kind: 'step' | 'change', times: readonly number[]): Train => ({
    alternating: kind === 'change',
    events: times.map((atS) => ({ atS, kernel: { kind, points } })),
  });
  const starts = marks.map(({ startS }) => startS);
  const onset: Question = { direction: 'onset', trains: [step('step', starts), step('change', starts)] };
  if (spans.length === 0) return [onset];
  const ends = spans.map(({ endS }) => endS);
  const lasting = (kind: 'level' | 'departure'): Train => ({
    alternating: kind === 'departure',
    events: spans.map(({ startS, endS }) => ({
      atS: startS,
      kernel: { kind, points: lastingPoints(endS - startS, circle) },
    })),
  });
  return [
    onset,
    { direction: 'release', trains: [step('step', ends), step('change', ends)] },
    { direction: 'level', trains: [lasting('level'), lasting('departure')] },
  ];
}

/** One plan an action, in the order of their first marks. */
export function planActions(marks: readonly Mark[], circle: Circle): ActionPlan[] {
  const actions = [...new Set(marks.map(({ action }) => action))];
  return actions.map((action) => {
    const own = marks.filter((mark) => mark.action === action);
    return { action, marks: own, questions: questionsOf(own, circle) };
  });
}
