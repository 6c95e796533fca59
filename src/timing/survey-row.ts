/** One identifier's row of the survey: what its frames say of timing and lengths, its silences and what is missing. */
import { upperBound } from '../frames/pictures/columns.ts';
import type { Steps } from '../frames/pictures/steps.ts';
import { FD_FORMAT, type FrameTable, type Stream } from '../frames/table.ts';
import { formatId, MICROS_PER_SECOND } from '../kit/units.ts';
import { percent, showMs, type TimingFinding } from './kinds/finding.ts';
import { findFollowed } from './kinds/follows.ts';
import { medianInterval, sameStampShare } from './kinds/intervals.ts';
import { judgeTiming } from './kinds/kind.ts';
import { newsOf } from './kinds/news.ts';
import { findReply } from './kinds/replies.ts';
import { payloadVariety } from './payloads.ts';
import type { Gap, SurveyFrame } from './types.ts';

function lengthsOf(stream: Stream): SurveyFrame['lengths'] {
  if (!stream.lengths) return [{ length: stream.length, count: stream.count }];
  const counts = new Uint32Array(65);
  for (const length of stream.lengths) counts[length] = (counts[length] as number) + 1;
  return [...counts.entries()].filter(([, count]) => count > 0).map(([length, count]) => ({ length, count }));
}

function hasFd(stream: Stream): boolean {
  return stream.fdFlags !== null && stream.fdFlags.some((flags) => (flags & FD_FORMAT) !== 0);
}

const NO_CLOCK: TimingFinding = {
  timing: { kind: 'on-change', periodMs: null, jitterMs: null },
  why: 'the file has no stamps: no period and no trigger can be told',
  gapLimitUs: Infinity,
  ticks: null,
};

function asReply(finding: TimingFinding, to: Stream, delayUs: number, words: string): TimingFinding {
  const delayMs = Number((delayUs / 1000).toPrecision(4));
  return {
    ...finding,
    timing: { kind: 'reply', periodMs: null, jitterMs: null, replyTo: formatId(to.id), delayMs },
    why: `answers ${formatId(to.id)} (${words}), usually after ${delayMs} ms`,
    gapLimitUs: Infinity,
    ticks: null,
  };
}

/** An answer by the standard's numbers, or by time; one with a grid of its own must hang on the question more than on that. */
function* withReply(finding: TimingFinding, streams: readonly Stream[], stream: Stream): Steps<TimingFinding> {
  const reply = findReply(streams, stream);
  if (reply) return asReply(finding, reply.to, reply.delayUs, 'diagnostic identifiers by ISO 15765-4');
  const { kind } = finding.timing;
  if (stream.direction === 'sent' || kind === 'once' || kind === 'mixed') return finding;
  const own = streams.filter(({ bus }) => bus === stream.bus);
  const { jitterMs } = finding.timing;
  const followed = yield* findFollowed(own, stream, jitterMs === null ? null : 1000 * jitterMs);
  if (!followed) return finding;
  const { share, denser, spreadUs, answered } = followed;
  const words =
    `${percent(share)} of its first frames come within a spread of ${showMs(spreadUs)}, ${Math.round(denser)} times denser than ` +
    `chance, and ${percent(answered)} of the questions are answered`;
  return asReply(finding, followed.to, followed.delayUs, words);
}

/**
 * Rows before which the identifier was silent: longer than its timing allows, or by more than a tick together with the whole
 * bus (then the logger paused, and no frame was lost one by one).
 */
function silentRows(stream: Stream, finding: TimingFinding, busGaps: readonly Gap[]): Set<number> {
  const rows = new Set<number>();
  const { timeUs, count } = stream;
  const { gapLimitUs } = finding;
  const spacingUs = (row: number): number => (timeUs[row] as number) - (timeUs[row - 1] as number);
  if (gapLimitUs < Infinity) for (let row = 1; row < count; row++) if (spacingUs(row) > gapLimitUs) rows.add(row);
  const { periodMs } = finding.timing;
  if (periodMs === null) return rows;
  for (const gap of busGaps) {
    const row = upperBound(timeUs, gap.fromS * MICROS_PER_SECOND);
    const spans = row > 0 && row < count && spacingUs(row) >= (gap.toS - gap.fromS) * MICROS_PER_SECOND;
    if (spans && spacingUs(row) > 1500 * periodMs) rows.add(row);
  }
  return rows;
}

/** Ticks without a frame, those in silences left out; a frame that shares a tick makes up for one that came late. */
function missedFrames({ ticks }: TimingFinding, silent: ReadonlySet<number>): number | null {
  if (!ticks) return null;
  let missed = 0;
  for (let row = 1; row < ticks.length; row++) missed += (ticks[row] as number) - 1;
  for (const row of silent) missed -= (ticks[row] as number) - 1;
  return Math.max(0, missed);
}

function gapsBefore(stream: Stream, rows: ReadonlySet<number>): Gap[] {
  const second = (row: number): number => (stream.timeUs[row] as number) / MICROS_PER_SECOND;
  return [...rows].sort((a, b) => a - b).map((row) => ({ fromS: second(row - 1), toS: second(row) }));
}

/** One identifier's row of the survey. O(n). @param busGaps stretches in which its whole bus was silent */
export function* surveyStream(table: FrameTable, stream: Stream, busGaps: readonly Gap[]): Steps<SurveyFrame> {
  const variety = yield* payloadVariety(stream);
  const { changed } = variety;
  const noClock = table.origin.kind === 'none';
  const pausesUs = busGaps.map(({ fromS }) => fromS * MICROS_PER_SECOND);
  const news = yield* newsOf(stream, changed);
  const judged = noClock ? NO_CLOCK : yield* judgeTiming(stream.timeUs, changed, news, pausesUs);
  yield;
  const isBatched = sameStampShare(stream.timeUs) > 0.05;
  const finding = noClock || isBatched ? judged : yield* withReply(judged, table.streams, stream);
  const silent = silentRows(stream, finding, busGaps);
  return {
    bus: stream.bus,
    id: formatId(stream.id),
    extended: stream.extended,
    direction: stream.direction,
    count: stream.count,
    length: stream.length,
    lengths: lengthsOf(stream),
    fd: hasFd(stream),
    timing: finding.timing,
    timingWhy: finding.why,
    missed: missedFrames(finding, silent),
    medianIntervalMs: stream.count > 1 ? Number((medianInterval(stream.timeUs) / 1000).toPrecision(9)) : null,
    firstS: (stream.timeUs[0] as number) / MICROS_PER_SECOND,
    lastS: (stream.timeUs[stream.count - 1] as number) / MICROS_PER_SECOND,
    gaps: gapsBefore(stream, silent),
    group: null,
    groupConfidence: null,
    groupWhy: 'not looked at yet',
    skew: null,
    copyOf: null,
    network: null,
    distinctPayloads: variety.distinct,
  };
}
