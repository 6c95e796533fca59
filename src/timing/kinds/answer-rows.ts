/** Which frames of one identifier could answer which of another's, and how long after: samples that following is judged by. */
import { lowerBound } from '../../frames/pictures/columns.ts';
import type { Stream } from '../../frames/table.ts';
import { quantile } from '../robust.ts';
import { sortedIntervals } from './intervals.ts';

/** Steps of the golden ratio: rows at equal distances could fall in with a rhythm. */
const GOLDEN = 0.6180339887498949;

/** The last question before a moment: its row, or -1. */
export const askedBefore = (question: Stream, us: number): number => lowerBound(question.timeUs, us) - 1;

/** Up to `most` rows spread over a stream, ascending. */
export function spreadRows(count: number, most: number): number[] {
  if (count <= most) return Array.from({ length: count }, (_, row) => row);
  const rows: number[] = [];
  for (let i = 0; i < most; i++) {
    const row = Math.floor(((i + ((i * GOLDEN) % 1)) * count) / (most + 1));
    if (row > (rows.at(-1) ?? -1) && row < count) rows.push(row);
  }
  return rows;
}

/** Rows of first answers: the first since the question before, spread over the capture. */
export function firstAnswers(question: Stream, answer: Stream, most: number): Int32Array {
  const rows = spreadRows(answer.count, most).filter((row) => {
    const asked = askedBefore(question, answer.timeUs[row] as number);
    return asked >= 0 && (row === 0 || (answer.timeUs[row - 1] as number) <= (question.timeUs[asked] as number));
  });
  return Int32Array.from(rows);
}

/** [rows] microseconds since the last question, the answers taken as later by a shift; ascending. */
export function delaysOf(question: Stream, answer: Stream, rows: ArrayLike<number>, shiftUs = 0): Float64Array {
  const out = new Float64Array(rows.length);
  for (let i = 0; i < rows.length; i++) {
    const us = (answer.timeUs[rows[i] as number] as number) + shiftUs;
    const asked = askedBefore(question, us);
    out[i] = asked < 0 ? Infinity : us - (question.timeUs[asked] as number);
  }
  return out.sort();
}

export interface Bounds {
  readonly from: number;
  readonly to: number;
}

/** The shortest stretch that holds a share of ascending delays. */
export function boundsOf(delays: Float64Array, share: number): Bounds {
  const held = Math.max(2, Math.ceil(share * delays.length));
  let best = { from: 0, to: Infinity };
  for (let i = 0; i + held <= delays.length; i++) {
    const [from, to] = [delays[i] as number, delays[i + held - 1] as number];
    if (to - from < best.to - best.from) best = { from, to };
  }
  return best;
}

export const within = (delays: Float64Array, { from, to }: Bounds): number =>
  delays.filter((us) => us >= from && us <= to).length / delays.length;

/** An identifier is held against all others of its bus, and its times stay as they are: each median is taken once. */
const spacings = new WeakMap<Float64Array, number>();

export function usualSpacing({ timeUs }: Stream): number {
  const known = spacings.get(timeUs) ?? quantile(sortedIntervals(timeUs), 0.5);
  spacings.set(timeUs, known);
  return known;
}
