/**
 * The inventory of a capture: each identifier's timing, lengths and activity, the load and silences of each bus, and what the
 * stamps can carry. Linear in the number of frames; written in steps so that the frames' owner stays able to answer.
 */
import { trimTable, type Span } from '../frames/pictures/span.ts';
import { runSteps, type Steps } from '../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../frames/table.ts';
import type { BusRates } from '../frames/wire.ts';
import { MICROS_PER_SECOND } from '../kit/units.ts';
import { busFrames, type BusFrames } from './bus-frames.ts';
import { busOrder, type BusOrder } from './bus-order.ts';
import { describeClock } from './clock/describe.ts';
import { clockHealth, stepOf, type ClockHealth } from './clock/health.ts';
import { clockByBus } from './clock/loggers/align.ts';
import { withoutJumps } from './kinds/beside-jumps.ts';
import { groupSenders, type Senders, type StreamSender } from './senders/groups.ts';
import { medianInterval } from './kinds/intervals.ts';
import { findModes, type Modes } from './modes/modes.ts';
import { occupation } from './occupation.ts';
import { networkRoles, type NetworkRole } from './network/network.ts';
import type { Hints } from './senders/shared-moments.ts';
import { senderVerdict, stampStepUs, surveyGroup, withSender } from './senders/sender-words.ts';
import { surveyStream } from './survey-row.ts';
import type { Gap, ModeMark, Survey, SurveyBus, SurveyFrame } from './types.ts';

/** A bus counts as silent after this many of its shortest usual intervals, and never before BUS_SILENCE_MIN_US. */
const BUS_SILENCE_INTERVALS = 10;
const BUS_SILENCE_MIN_US = 100_000;
/** So many frames tell a usual interval. */
const FRAMES_FOR_USUAL = 20;
/** Where no interval is usual at all. */
const BUS_SILENCE_UNKNOWN_US = 2_000_000;

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

/** O(frames). @param hints as of `surveySteps` */
export function* surveyKnown(table: FrameTable, hints?: Hints): Steps<SurveyKnown> {
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
