/**
 * Spans of a capture that a person marked as at rest, as far as the marks themselves bear it out: park, no pedal, not charging. A mark is an opinion of somebody who
 * pressed late, so a margin is cut off at both ends; what the frames say of it is another question (`rest-check.ts`).
 */
import type { Mark } from '../../actions/types.ts';
import { markedSpans, readMark } from '../../timing/modes/mark-states.ts';
import { contradictsItself, saysAtRest, saysPedal } from './rest-words.ts';

/** Seconds from the capture's origin. */
export interface Span {
  readonly fromS: number;
  readonly toS: number;
}

export interface RestMark extends Span {
  readonly action: string;
  /** Of the marks with these words, from 1. */
  readonly number: number;
  /** Without its margins; what may be taken. */
  readonly inner: Span;
  /** Why nothing may be taken of it; null where something may. */
  readonly refused: string | null;
}

/** Marks come 0.15 to 0.45 s late (published ranges of simple and choice reactions), also the mark that ends the rest. */
const START_MARGIN_S = 0.3;
const END_MARGIN_S = 0.7;
const LATE_S = 0.5;
const SHORTEST_S = 1;

const at = (atS: number): string => `at ${atS.toFixed(2)} s`;
const meets = (a: Span, b: Span): boolean => a.fromS < b.toS && b.fromS < a.toS;
const called = ({ action, value }: Mark): string => (value ? `${action}: ${value}` : action);

const doneIn = ({ startS, endS }: Mark): Span => ({ fromS: startS - LATE_S, toS: (endS ?? startS) + LATE_S });

/** The first thing done within a span that speaks against rest. */
function doneWithin(inner: Span, others: readonly Mark[]): string | null {
  const within = others.filter((mark) => meets(doneIn(mark), inner));
  const pedal = within.find(saysPedal);
  if (pedal) return `${called(pedal)} is marked within it, ${at(pedal.startS)}`;
  const engaged = within.find((mark) => {
    const read = readMark(mark);
    return read?.topic === 'selector' && read.state === 'on';
  });
  return engaged ? `${called(engaged)} is marked within it, ${at(engaged.startS)}` : null;
}

/** Charging or driving by what was marked before and within. That the vehicle is in park the rest mark itself says. */
function modeAgainst(inner: Span, rests: readonly Mark[], others: readonly Mark[]): string | null {
  const parked = rests.map((mark) => ({ action: 'selector', value: 'P', startS: mark.startS, endS: null }));
  const against = markedSpans([...others, ...parked]).find(
    ({ mode, fromS, toS }) => (mode === 'charging' || mode === 'driving') && meets({ fromS, toS }, inner),
  );
  return against ? `${against.mode} by the mark "${against.because}", from ${against.fromS.toFixed(2)} s` : null;
}

function whyRefused(mark: Mark, inner: Span, durationS: number, rests: readonly Mark[], others: readonly Mark[]) {
  const { startS, endS } = mark;
  if (endS === null) return 'it marks an instant: mark how long the vehicle was at rest, as a span';
  const own = contradictsItself(mark);
  if (own) return own;
  if (startS < 0 || endS > durationS)
    return `part of it lies outside the capture, which lasts from 0 to ${durationS.toFixed(2)} s`;
  if (inner.toS - inner.fromS < SHORTEST_S)
    return `too short: less than ${SHORTEST_S} s is left of it without its margins`;
  return doneWithin(inner, others) ?? modeAgainst(inner, rests, others);
}

/** Every mark that says "at rest", in order of time. @param marks on the capture's clock */
export function restMarks(marks: readonly Mark[], durationS: number): RestMark[] {
  const inOrder = [...marks].sort((a, b) => a.startS - b.startS);
  const rests = inOrder.filter(saysAtRest);
  const others = inOrder.filter((mark) => !saysAtRest(mark));
  const counts = new Map<string, number>();
  return rests.map((mark) => {
    const { action, startS, endS } = mark;
    const number = (counts.get(action) ?? 0) + 1;
    counts.set(action, number);
    const toS = endS ?? startS;
    const inner = { fromS: startS + START_MARGIN_S, toS: toS - END_MARGIN_S };
    return { action, number, fromS: startS, toS, inner, refused: whyRefused(mark, inner, durationS, rests, others) };
  });
}
