/**
 * Which actions the recording cannot tell apart: those that were mostly or always done within moments of each other. A field that answers one may then
 * answer the other, and only another recording tells; which one, is said. What comes together by chance, because one of the two is done all the time,
 * is told by the binomial chance of so many meetings.
 */
import { binomialTail } from '../kit/statistics/distributions.ts';
import type { Mark, MarkEvent, Together } from './types.ts';

/** People do what belongs together within this. */
const TOGETHER_S = 3;
/** Of an action's marks, so many have the other beside them: with fewer, what answers the others only does not pass for its own. */
const SHARE_LEAST = 0.5;
const MARKS_LEAST = 3;
/** A meeting must be this unlikely by chance, all of them together. */
const CHANCE_MOST = 0.001;
/** Of the other action alone, so many marks show whether it has answers of its own. */
const ALONE_ENOUGH = 3;

interface Events {
  readonly action: string;
  readonly event: MarkEvent;
  readonly atS: readonly number[];
}

function eventsOf(marks: readonly Mark[]): Events[] {
  const actions = [...new Set(marks.map(({ action }) => action))];
  return actions.flatMap((action): Events[] => {
    const own = marks.filter((mark) => mark.action === action);
    const ends = own.flatMap(({ endS }) => (endS === null ? [] : [endS]));
    const starts: Events = { action, event: 'start', atS: own.map(({ startS }) => startS) };
    return ends.length > 0 ? [starts, { action, event: 'end', atS: ends }] : [starts];
  });
}

/** Time to the nearest of some instants; NaN where none is within reach. */
function nearest(atS: number, others: readonly number[]): number {
  const lags = others.map((other) => other - atS).sort((a, b) => Math.abs(a) - Math.abs(b));
  const [lag] = lags;
  return lag !== undefined && Math.abs(lag) <= TOGETHER_S ? lag : Number.NaN;
}

/** Share of the marked time that lies within so much of some instants. */
function covered(atS: readonly number[], withinS: number, [fromS, toS]: readonly [number, number]): number {
  let sum = 0;
  let reached = fromS;
  for (const at of [...atS].sort((a, b) => a - b)) {
    const [low, high] = [Math.max(reached, at - withinS), Math.min(toS, at + withinS)];
    if (high > low) {
      sum += high - low;
      reached = high;
    }
  }
  return Math.min(0.999, sum / Math.max(1, toS - fromS));
}

/** A person's times differ by this much from one repetition to the next. */
const HABIT_S = 0.5;

/** Chance of so many meetings at about one lag, wherever within reach that lag lies. */
function chanceOf(lags: readonly number[], of: number, other: Events, span: readonly [number, number]): number {
  const mean = lags.reduce((sum, lag) => sum + lag, 0) / lags.length;
  const withinS = Math.min(TOGETHER_S, Math.max(HABIT_S, ...lags.map((lag) => Math.abs(lag - mean))));
  return (TOGETHER_S / withinS) * binomialTail(lags.length, of, covered(other.atS, withinS, span));
}

const nameOf = ({ action, event }: Pick<Together, 'action' | 'event'>): string =>
  event === 'start' ? `"${action}"` : `the end of "${action}"`;

function nextOf(own: Events, other: Events, isOtherTold: boolean): string {
  const without = `do "${own.action}" five times and leave "${other.action}" out for ten seconds before and after`;
  return isOtherTold ? without : `${without}, then "${other.action}" five times without "${own.action}"`;
}

function togetherOf(own: Events, other: Events, span: readonly [number, number]): Together | null {
  const lags = own.atS.map((atS) => nearest(atS, other.atS)).filter((lag) => !Number.isNaN(lag));
  const [times, of] = [lags.length, own.atS.length];
  if (of < MARKS_LEAST || times < SHARE_LEAST * of) return null;
  if (chanceOf(lags, of, other, span) > CHANCE_MOST) return null;
  const alone = other.atS.filter((atS) => Number.isNaN(nearest(atS, own.atS))).length;
  return {
    action: other.action,
    event: other.event,
    own: own.event,
    times,
    of,
    lagS: lags.reduce((sum, lag) => sum + lag, 0) / times,
    alone,
    next: nextOf(own, other, isTold({ alone, times, of })),
  };
}

/** By action, what was always done with it; the marks may be on any clock. */
export function togetherByAction(marks: readonly Mark[]): ReadonlyMap<string, readonly Together[]> {
  const events = eventsOf(marks);
  const times = marks.flatMap(({ startS, endS }) => [startS, endS ?? startS]);
  const span = [Math.min(...times) - TOGETHER_S, Math.max(...times) + TOGETHER_S] as const;
  const found = new Map<string, Together[]>();
  for (const own of events)
    for (const other of events) {
      if (own.action === other.action) continue;
      const together = togetherOf(own, other, span);
      if (together) found.set(own.action, [...(found.get(own.action) ?? []), together]);
    }
  return found;
}

/** People forget to mark this share of what they do, at least (common practice, no source): what looks alone may have been together. */
const FORGOTTEN = 0.1;
/** Chance that marks forgotten explain all that looks alone. */
const FORGOTTEN_CHANCE = 0.05;

const isBeyondForgotten = (alone: number, times: number, forgotten: number): boolean =>
  alone >= ALONE_ENOUGH && binomialTail(alone, alone + times, forgotten) <= FORGOTTEN_CHANCE;

type Counts = Pick<Together, 'alone' | 'times' | 'of'>;

/** Whether the action itself came without the other more often than marks are forgotten. */
export const cameAlone = ({ times, of }: Counts): boolean => isBeyondForgotten(of - times, times, FORGOTTEN);

/** Whether the recording itself holds what tells the two apart: one of them came alone more often than marks are forgotten. */
export function isTold(counts: Counts): boolean {
  const { alone, times, of } = counts;
  if (cameAlone(counts)) return true;
  return isBeyondForgotten(alone, times, Math.max(FORGOTTEN, (of - times) / of));
}

/** What cannot be told apart, and the recording that would. */
export function togetherWords(together: Together): string {
  const { own, times, of, lagS, next } = together;
  const subject = own === 'start' ? 'it was done' : 'it ended';
  const when = Math.abs(lagS) < 0.05 ? 'at once' : `${Math.abs(lagS).toFixed(1)} s ${lagS > 0 ? 'later' : 'before'}`;
  return `${subject} with ${nameOf(together)} ${times} of ${of} times (${when}), so each field here may answer that instead. To tell them apart, ${next}`;
}
