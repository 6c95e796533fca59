/**
 * Which value of a field stands for which mark: where marks carry a value ("D", "R"), the field's value shortly after
 * each mark is looked up, and where every mark value has one field value of its own, seen nearly
 * each time, they are paired.
 */
import type { FieldSeries } from '../map/field-series.ts';
import type { Candidate } from '../map/proposed-fields.ts';
import { frameBefore } from './change-time.ts';
import type { Mark, MarkedState } from './types.ts';

const SETTLED_S = 0.6;
const SEEN_SHARE = 0.75;
const VALUES_MAX = 32;

/** The unsigned raw value that a coded one was read from. */
export const rawOf = (coded: number, length: number): number => (coded < 0 ? coded + 2 ** length : coded);

/** How often each field value was seen after the marks of one value, most often first. */
function tally(
  series: FieldSeries,
  marks: readonly Mark[],
  offsetS: number,
  nextOf: (mark: Mark) => number,
): [number, number][] {
  const counts = new Map<number, number>();
  for (const mark of marks) {
    const atS = Math.min(mark.startS + SETTLED_S, (mark.startS + nextOf(mark)) / 2) + offsetS;
    const frame = frameBefore(series.timeUs, atS * 1e6);
    if (frame < 0) continue;
    const value = series.value[frame] as number;
    counts.set(value, (counts.get(value) ?? 0) + 1);
  }
  return [...counts].sort((a, b) => b[1] - a[1]);
}

/** Pairs of mark value and raw field value; null where they do not go together one to one. */
export function statesOf(
  { field }: Candidate,
  series: FieldSeries,
  marks: readonly Mark[],
  offsetS: number,
): MarkedState[] | null {
  const values = [...new Set(marks.flatMap(({ value }) => (value === undefined ? [] : [value])))];
  if (values.length < 2 || values.length > VALUES_MAX) return null;
  const starts = marks.map(({ startS }) => startS);
  const nextOf = (mark: Mark): number => starts.find((startS) => startS > mark.startS) ?? Number.POSITIVE_INFINITY;
  const states: MarkedState[] = [];
  for (const value of values) {
    const own = marks.filter((mark) => mark.value === value);
    const [usual] = tally(series, own, offsetS, nextOf);
    if (!usual || usual[1] < SEEN_SHARE * own.length) return null;
    states.push({ value, raw: rawOf(usual[0], field.length), seen: usual[1], of: own.length });
  }
  const distinct = new Set(states.map(({ raw }) => raw)).size === states.length;
  return distinct ? states : null;
}
