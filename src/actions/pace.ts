/**
 * A field that only counts (pulses, strokes, energy) tells nothing by where it stands: what it answers with is its pace. Its series is then counts
 * a second, each over the frames of the last moment, wraps of the full width undone.
 */
import type { FieldSeries } from '../map/field-series.ts';
import { seriesOf, type Candidate } from '../map/proposed-fields.ts';

/** Fewer counts than this are told by where the field stands. */
const COUNTS_LEAST = 50;
/** Share of changes in one direction: the others are wraps at less than the full width. */
const ONE_WAY = 0.95;
/** Frames nearer than this are counted together, or each would hold one count or none. */
const OVER_US = 0.1e6;

/** Change of a value of so many bits, the shorter way round. */
function turned(from: number, to: number, size: number): number {
  const change = to - from;
  return change > size / 2 ? change - size : change < -size / 2 ? change + size : change;
}

/** [frames] counts since the first frame; null where the field does not only count. */
function countsOf({ value }: FieldSeries, length: number): Float64Array | null {
  const counts = new Float64Array(value.length);
  const ways = [0, 0] as [number, number];
  const size = 2 ** length;
  for (let k = 1; k < value.length; k++) {
    const change = turned(value[k - 1] as number, value[k] as number, size);
    counts[k] = change;
    if (change > 0) ways[0]++;
    else if (change < 0) ways[1]++;
  }
  const [up, down] = ways;
  if (up + down < COUNTS_LEAST || Math.max(up, down) < ONE_WAY * (up + down)) return null;
  const sign = up > down ? 1 : -1;
  for (let k = 1; k < counts.length; k++)
    counts[k] = (counts[k - 1] as number) + Math.max(0, sign * (counts[k] as number));
  return counts;
}

function paceOf({ timeUs }: FieldSeries, counts: Float64Array): FieldSeries {
  const value = new Float64Array(counts.length);
  let from = 0;
  for (let k = 1; k < counts.length; k++) {
    while (from + 1 < k && (timeUs[k] as number) - (timeUs[from + 1] as number) >= OVER_US) from++;
    const overS = ((timeUs[k] as number) - (timeUs[from] as number)) / 1e6;
    value[k] = overS > 0 ? ((counts[k] as number) - (counts[from] as number)) / overS : (value[k - 1] as number);
  }
  return { timeUs, value };
}

export interface AnsweringSeries extends FieldSeries {
  /** Raw units a second instead of raw units. */
  readonly isPace: boolean;
}

/** What a field answers with over time. */
export function answeringSeries(candidate: Candidate): AnsweringSeries {
  const series = seriesOf(candidate);
  const { kind, coding, length } = candidate.field;
  const counts = kind === 'number' && coding === 'unsigned' ? countsOf(series, length) : null;
  return counts ? { ...paceOf(series, counts), isPace: true } : { ...series, isPace: false };
}
