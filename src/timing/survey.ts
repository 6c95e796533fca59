/**
 * The inventory of a capture: each identifier's timing, lengths and activity, the load and silences of each bus, and what the
 * stamps can carry. Linear in the number of frames; written in steps so that the frames' owner stays able to answer.
 */
import { upperBound } from '../frames/pictures/columns.ts';
import { trimTable, type Span } from '../frames/pictures/span.ts';
import { runSteps, type Steps } from '../frames/pictures/steps.ts';
import { FD_FORMAT, type FrameTable, type Stream } from '../frames/table.ts';
import type { BusRates } from '../frames/wire.ts';
import { formatId, MICROS_PER_SECOND } from '../kit/units.ts';
import { busFrames, type BusFrames } from './bus-frames.ts';
import { busOrder, type BusOrder } from './bus-order.ts';
import { describeClock } from './clock/describe.ts';
import { clockHealth, stepOf, type ClockHealth } from './clock/health.ts';
import { clockByBus } from './clock/loggers/align.ts';
import { withoutJumps } from './kinds/beside-jumps.ts';
import { percent, showMs, type TimingFinding } from './kinds/finding.ts';
import { findFollowed } from './kinds/follows.ts';
import { groupSenders, type Senders, type StreamSender } from './senders/groups.ts';
import { medianInterval, sameStampShare } from './kinds/intervals.ts';
import { judgeTiming } from './kinds/kind.ts';
import { newsOf } from './kinds/news.ts';
import { findModes, type Modes } from './modes/modes.ts';
import { occupation } from './occupation.ts';
import { payloadVariety } from './payloads.ts';
import { findReply } from './kinds/replies.ts';
import { networkRoles, type NetworkRole } from './network/network.ts';
import type { Hints } from './senders/shared-moments.ts';
import { senderVerdict, stampStepUs, surveyGroup, withSender } from './senders/sender-words.ts';
import type { Gap, ModeMark, Survey, SurveyBus, SurveyFrame } from './types.ts';

/** A bus counts as silent after this many of its shortest usual intervals, and never before BUS_SILENCE_MIN_US. */
const BUS_SILENCE_INTERVALS = 10;
const BUS_SILENCE_MIN_US = 100_000;
/** So many frames tell a usual interval. */
const FRAMES_FOR_USUAL = 20;
/** Where no interval is usual at all. */
const BUS_SILENCE_UNKNOWN_US = 2_000_000;

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

/** From the shortest usual interval on the bus: a first look, before any period is known. */
function busSilenceLimit(streams: readonly Stream[]): number {
  const usual = streams
    .filter((stream) => stream.count >= FRAMES_FOR_USUAL)
    .map((stream) => medianInterval(stream.timeUs))
    .filter((us) => us > 0);
  if (usual.length === 0) return BUS_SILENCE_UNKNOWN_US;
  return Math.max(BUS_SILENCE_MIN_US, BUS_SILENCE_INTERVALS * Math.min(...usual));
}

/**
 * What each bus's frames say together, in the order of the table's buses. O(frames).
 * @param buses all frames of each, where they have been brought together already
 */
export function* busOrders(table: FrameTable, buses?: readonly BusFrames[]): Steps<BusOrder[]> {
  const orders: BusOrder[] = [];
  for (const frames of buses ?? (yield* busFrames(table))) {
    const limitUs = busSilenceLimit(frames.streams);
    yield;
    orders.push(yield* busOrder(frames, limitUs));
  }
  return orders;
}

const countOn = (counts: readonly { readonly bus: string; readonly count: number }[], bus: string): number =>
  counts.filter((entry) => entry.bus === bus).reduce((sum, entry) => sum + entry.count, 0);

function* describeBus(
  table: FrameTable,
  name: string,
  rates: BusRates,
  span: Span,
  gaps: SurveyBus['gaps'],
): Steps<SurveyBus> {
  const streams = table.streams.filter((stream) => stream.bus === name);
  const sent = streams.filter((stream) => stream.direction === 'sent').reduce((sum, stream) => sum + stream.count, 0);
  const rate = rates[name];
  return {
    name,
    frames: streams.reduce((sum, stream) => sum + stream.count, 0) - sent,
    sent,
    errors: countOn(table.errors, name),
    remotes: countOn(table.remotes, name),
    bitrate: rate?.bitrate ?? null,
    dataBitrate: rate?.dataBitrate ?? null,
    ...(yield* occupation(streams, rate, span)),
    gaps,
  };
}

/** What depends neither on bit rates nor on marks, for a survey that is asked again. */
export interface SurveyKnown {
  /** In the order of the table's streams. */
  readonly rows: readonly SurveyFrame[];
  /** In the order of the table's buses. */
  readonly orders: readonly BusOrder[];
  readonly health: ClockHealth;
  readonly senders: Senders;
  /** In the order of the table's streams. */
  readonly network: readonly (NetworkRole | null)[];
}

/** Modes, and the rows with their timing by mode. @param marks on the capture's clock */
export const surveyModes = (
  table: FrameTable,
  { rows, health }: SurveyKnown,
  marks: readonly ModeMark[],
): Steps<Modes> => findModes(table, rows, health.pauses, marks);

/** Who sends what, from rows and orders of the whole table and what its clock can carry. */
function* surveySenders(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  buses: readonly BusFrames[],
  orders: readonly BusOrder[],
  health: ClockHealth,
  hints: Hints | undefined,
): Steps<Senders> {
  const pauses = (order: BusOrder): number[] => order.gaps.map(({ fromS }) => fromS * MICROS_PER_SECOND);
  const recorded = {
    stepUs: stampStepUs(stepOf(health), orders),
    endUs: table.endUs,
    clockOf: clockByBus(table),
    restarts: new Map(health.counted.map(({ stream, value }) => [stream, value.restarts])),
    buses,
    pausesUs: new Map(table.buses.map((bus, place) => [bus, pauses(orders[place] as BusOrder)])),
  };
  return yield* groupSenders(table, rows, recorded, hints);
}

/**
 * What follows from the rows and orders of the whole table. O(frames).
 * @param judged each identifier's row, before jumps of the clock are known
 * @param buses all frames of each
 * @param hints what guards have for parameters, where fields are known
 */
export function* knownFrom(
  table: FrameTable,
  judged: readonly SurveyFrame[],
  buses: readonly BusFrames[],
  orders: readonly BusOrder[],
  hints?: Hints,
): Steps<SurveyKnown> {
  const health = yield* clockHealth(table, judged, orders);
  const rows = withoutJumps(table, judged, health.jumps);
  const senders = yield* surveySenders(table, rows, buses, orders, health, hints);
  const silences = (bus: string): readonly Gap[] => orders[table.buses.indexOf(bus)]?.gaps ?? [];
  return { rows, orders, health, senders, network: yield* networkRoles(table, rows, silences) };
}

/** O(frames). */
function* surveyKnown(table: FrameTable, hints?: Hints): Steps<SurveyKnown> {
  const buses = yield* busFrames(table);
  const orders = yield* busOrders(table, buses);
  const rows: SurveyFrame[] = [];
  for (const stream of table.streams) {
    rows.push(yield* surveyStream(table, stream, orders[table.buses.indexOf(stream.bus)]?.gaps ?? []));
    yield;
  }
  return yield* knownFrom(table, rows, buses, orders, hints);
}

/** The survey from what is known of a table. Cost: a sample of each identifier's frames. */
export function* weighSurvey(
  table: FrameTable,
  known: SurveyKnown,
  { modes, rows }: Modes,
  rates: BusRates,
  span: Span,
): Steps<Survey> {
  const buses: SurveyBus[] = [];
  for (const [place, name] of table.buses.entries()) {
    buses.push(yield* describeBus(table, name, rates, span, (known.orders[place] as BusOrder).gaps));
  }
  const clock = describeClock(table, known.health, known.orders, rates);
  const carries = senderVerdict(known.senders, stampStepUs(stepOf(known.health), known.orders));
  return {
    capture: {
      frames: table.frameCount,
      rejected: table.files.reduce((sum, file) => sum + file.rejected, 0),
      originS: table.origin.text,
      startS: span.fromS,
      durationS: Math.max(0, Math.min(span.toS, table.endUs / MICROS_PER_SECOND) - span.fromS),
      clock: { ...clock, verdict: table.origin.kind === 'none' ? clock.verdict : `${clock.verdict} ${carries}` },
    },
    buses,
    frames: rows.map((row, place) => ({
      ...withSender(row, known.senders.streams[place] as StreamSender),
      network: known.network[place] ?? null,
    })),
    groups: known.senders.groups.map(surveyGroup),
    modes,
  };
}

export const wholeSpan = (table: FrameTable): Span => ({ fromS: 0, toS: table.endUs / MICROS_PER_SECOND });

/**
 * The survey in steps of a few milliseconds. Times stay in seconds from the capture's origin, also for a span.
 * @param marks on the capture's clock: they name modes
 * @param hints what guards have for parameters, where fields are known: they help to tell senders
 */
export function* surveySteps(
  whole: FrameTable,
  rates: BusRates,
  span?: Span,
  marks: readonly ModeMark[] = [],
  hints?: Hints,
): Steps<Survey> {
  const table = span ? trimTable(whole, span) : whole;
  const known = yield* surveyKnown(table, hints);
  const modes = yield* surveyModes(table, known, marks);
  return yield* weighSurvey(table, known, modes, rates, span ?? wholeSpan(whole));
}

/** Cost: O(frames). */
export function surveyTable(
  table: FrameTable,
  rates: BusRates,
  span?: Span,
  marks: readonly ModeMark[] = [],
  hints?: Hints,
): Survey {
  return runSteps(surveySteps(table, rates, span, marks, hints));
}
