/**
 * How many frames the recording lacks: told by rolling counters that skip, and by ticks of a grid without a frame where there is no counter.
 * Whether the whole bus was silent or only the logger paused: counters that went on meanwhile were sent, those that
 * stood still were not. What counters say of their own frames is carried over to the others only where
 * all counters tell of one rate.
 */
import { upperBound } from '../../frames/pictures/columns.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { BusOrder } from '../bus-order.ts';
import type { SurveyFrame } from '../types.ts';
import { rollingValues, type RollingValue } from './rolling.ts';

export interface ClockPause {
  readonly bus: string;
  readonly fromS: number;
  readonly toS: number;
  /**
   * Who fell silent: the logger (counters went on) or the bus (they stood still), or nobody: the clock was set forward (phases moved by just
   * that). `unknown` where nobody can say.
   */
  readonly who: 'logger' | 'bus' | 'clock' | 'unknown';
  /** Frames that counters miss across it where the logger paused, else 0; and how many counters told. */
  readonly lost: number;
  readonly counters: number;
}

export interface FramesLost {
  /** Frames that counters miss, and of them those across silences of the whole bus. */
  readonly frames: number;
  readonly inPauses: number;
  /** Identifiers whose frames are counted, frames they brought, and frames before which no number fits. */
  readonly counters: number;
  readonly counted: number;
  readonly untold: number;
  /** Frames that counters miss and that only their own sender, or a gateway, can have left out: other counters of the bus skip far less. */
  readonly leftOut: number;
  /** Frames before which counters begin anew. */
  readonly restarts: number;
  /** Ticks without a frame of identifiers that have no counter, and how many those are. */
  readonly byTicks: number;
  readonly gridded: number;
  /** All buses and identifiers together, pauses aside; null where counters tell of no common rate. */
  readonly inAll: { readonly frames: number; readonly se: number } | null;
}

/** Frames of one stream that are missing, as its widest counter says. */
export interface StreamLosses {
  readonly stream: Stream;
  readonly value: RollingValue;
}

function widest(values: readonly RollingValue[]): RollingValue | null {
  const width = ({ min, max }: RollingValue): number => max - min;
  return values.reduce<RollingValue | null>(
    (best, value) =>
      !best || width(value) > width(best) || (width(value) === width(best) && value.unknown < best.unknown)
        ? value
        : best,
    null,
  );
}

/** Of each received stream that has rolling values, the widest. O(frames). */
export function* countersOf(table: FrameTable): Steps<StreamLosses[]> {
  const found: StreamLosses[] = [];
  for (const stream of table.streams) {
    if (stream.direction === 'sent') continue;
    const value = widest(yield* rollingValues(stream));
    if (value) found.push({ stream, value });
    yield;
  }
  return found;
}

/** So many of the counters that tell must agree on who was silent. */
const AGREE = 0.8;
const COUNTERS_LEAST = 2;

/** The row of a stream before which a gap lies, or -1. */
function rowAfter({ timeUs, count }: Stream, fromS: number, toS: number): number {
  const row = upperBound(timeUs, fromS * MICROS_PER_SECOND + 0.5);
  const isBridged = row > 0 && row < count && (timeUs[row] as number) >= toS * MICROS_PER_SECOND - 0.5;
  return isBridged ? row : -1;
}

/** Probability that as many counters fit by chance, begun anew, below which they say that they went on. */
const CHANCE_MOST = 0.01;
/** Give or take which counter and clock agree, frames, and how well the pace is known over a silence. */
const FITS = 0.85;
const PACE_ERROR = 0.003;

/** Probability that a counter that began anew fits the time that passed: the longer the silence, the more values do. */
function chanceToFit({ min, max }: RollingValue, skipped: number): number {
  const fitting = skipped > 0 ? 1 + 2 * (FITS + PACE_ERROR * skipped) : 1;
  return Math.min(1, fitting / (max - min + 1));
}

/** Periods by which a sender fell silent before the others, or came after them: it was no logger that stopped. */
const STAGGER_PERIODS = 3;

/** Whether a sender stopped well before a silence or began well after it. @param row the first after it */
function isStaggered({ timeUs, count }: Stream, row: number, fromUs: number, toUs: number): boolean {
  if (row < 2 || row + 1 >= count) return false;
  const [last, first] = [timeUs[row - 1] as number, timeUs[row] as number];
  const early = fromUs - last > STAGGER_PERIODS * (last - (timeUs[row - 2] as number));
  return early || first - toUs > STAGGER_PERIODS * ((timeUs[row + 1] as number) - first);
}

function judgePause(bus: string, fromS: number, toS: number, counted: readonly StreamLosses[]): ClockPause {
  let [went, stood, lost, anew, chance] = [0, 0, 0, 0, 1];
  for (const { stream, value } of counted) {
    const row = stream.bus === bus && value.isPaced ? rowAfter(stream, fromS, toS) : -1;
    if (row < 0) continue;
    const isOwn = isStaggered(stream, row, fromS * MICROS_PER_SECOND, toS * MICROS_PER_SECOND);
    if (isOwn || value.restarts.includes(row)) anew++;
    const skipped = value.skips[row] as number;
    if (!(skipped > 0) && !(skipped === 0 && isOverdue(stream, row))) continue;
    chance *= chanceToFit(value, skipped);
    if (skipped > 0) went++;
    else stood++;
    lost += skipped;
  }
  const counters = went + stood;
  const isTold = counters >= COUNTERS_LEAST && anew <= (1 - AGREE) * counters && chance < CHANCE_MOST;
  const who = isTold && went >= AGREE * counters ? 'logger' : isTold && stood >= AGREE * counters ? 'bus' : 'unknown';
  return { bus, fromS, toS, who, lost: who === 'logger' ? lost : 0, counters };
}

/** Whether a frame was due in the interval before a row: else standing still says nothing. */
function isOverdue({ timeUs }: Stream, row: number): boolean {
  if (row < 2) return false;
  const [before, own] = [(timeUs[row - 1] as number) - (timeUs[row - 2] as number), timeUs[row] as number];
  return own - (timeUs[row - 1] as number) > 1.8 * before;
}

/** Bus by bus, in order of time. Cost: counters times silences. */
export function judgePauses(
  table: FrameTable,
  orders: readonly BusOrder[],
  counted: readonly StreamLosses[],
): ClockPause[] {
  return table.buses.flatMap((bus, place) =>
    (orders[place]?.gaps ?? []).map(({ fromS, toS }) => judgePause(bus, fromS, toS, counted)),
  );
}

interface Rate {
  readonly lost: number;
  readonly sent: number;
}

/**
 * Losses of all frames from those of the counted, with the error that the counters' own disagreement gives (ratio estimator, Cochran
 * 1977, section 2.9, from memory). null where few count, or where a single counter holds most of the losses.
 */
function carriedOver(rates: readonly Rate[], frames: number): FramesLost['inAll'] {
  const lost = rates.reduce((sum, rate) => sum + rate.lost, 0);
  const sent = rates.reduce((sum, rate) => sum + rate.sent, 0);
  if (rates.length < 3 || sent === 0) return null;
  if (lost === 0) return { frames: 0, se: 0 };
  if (rates.some((rate) => rate.lost > 0.5 * lost && rate.sent < 0.5 * sent)) return null;
  const ratio = lost / sent;
  const squares = rates.reduce((sum, rate) => sum + (rate.lost - ratio * rate.sent) ** 2, 0);
  const seOfRatio = Math.sqrt((squares * rates.length) / (rates.length - 1)) / sent;
  const scale = frames / (1 - ratio);
  return { frames: Math.round(ratio * scale), se: Number((seOfRatio * scale).toPrecision(2)) };
}

/** @param rows the survey's, in the order of the table's streams */
export function sumLosses(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  counted: readonly StreamLosses[],
  pauses: readonly ClockPause[],
): FramesLost {
  const losses = counted.map((each) => lossesOf(table, each, pauses));
  const inPauses = losses.reduce((sum, { across }) => sum + across, 0);
  const thinned = losses.map((_, at) => isThinned(losses, counted, at));
  const single = losses.reduce((sum, each, at) => sum + (thinned[at] ? 0 : each.single), 0);
  const hasCounter = new Set(counted.map(({ stream }) => stream));
  const gridded = rows.filter(
    (row, at) => row.missed !== null && row.direction === 'received' && !hasCounter.has(table.streams[at] as Stream),
  );
  const rates = counted.flatMap(({ stream }, at) => {
    const lost = losses[at]?.single ?? 0;
    return thinned[at] ? [] : [{ lost, sent: stream.count + lost }];
  });
  return {
    frames: single + inPauses,
    inPauses,
    counters: counted.length,
    counted: counted.reduce((sum, { stream }) => sum + stream.count, 0),
    untold: counted.reduce((sum, { value }) => sum + value.unknown, 0),
    leftOut: losses.reduce((sum, each, at) => sum + (thinned[at] ? each.single : 0), 0),
    restarts: counted.reduce((sum, { value }) => sum + value.restarts.length, 0),
    byTicks: gridded.reduce((sum, { missed }) => sum + (missed ?? 0), 0),
    gridded: gridded.length,
    inAll: carriedOver(rates, table.frameCount),
  };
}

/** So many frames of one identifier in a row are not lost while the logger takes all others. */
const RUN_LEAST = 3;
const RECORDED_SHARE = 0.5;
const RUNS_LOOKED_AT = 300;

const framesBetween = (streams: readonly Stream[], fromUs: number, toUs: number): number =>
  streams.reduce((sum, { timeUs }) => sum + upperBound(timeUs, toUs) - upperBound(timeUs, fromUs), 0);

/** Whether the bus brought about as many frames between two instants as in the same time before: then nothing kept the logger. */
function isRecorded(streams: readonly Stream[], fromUs: number, toUs: number): boolean {
  const usual = framesBetween(streams, fromUs - (toUs - fromUs), fromUs);
  return framesBetween(streams, fromUs, toUs) > RECORDED_SHARE * usual;
}

interface Losses {
  /** In pauses of the logger, and one by one or a few at a time. */
  readonly across: number;
  readonly single: number;
}

/** A share of its frames, and so many times what the others of its bus miss: no logger picks one identifier. */
const THINNED_SHARE = 0.01;
const THINNED_TIMES = 8;
const OTHERS_LEAST = 3;

function isThinned(losses: readonly Losses[], counted: readonly StreamLosses[], at: number): boolean {
  const own = (counted[at] as StreamLosses).stream;
  const rate = (losses[at] as Losses).single / own.count;
  const others = counted
    .flatMap(({ stream }, place) =>
      stream.bus === own.bus && place !== at ? [(losses[place] as Losses).single / stream.count] : [],
    )
    .sort((a, b) => a - b);
  if (others.length < OTHERS_LEAST || rate < THINNED_SHARE) return false;
  return rate > THINNED_TIMES * (others[others.length >> 1] as number);
}

/** What of a stream's skips the logger lost: none in a silence that was not the logger's, and none that only this sender left out. */
function lossesOf(table: FrameTable, { stream, value }: StreamLosses, pauses: readonly ClockPause[]): Losses {
  const own = pauses.filter(({ bus }) => bus === stream.bus);
  const bridging = new Map(own.map((pause) => [rowAfter(stream, pause.fromS, pause.toS), pause.who] as const));
  const streams = table.streams.filter(({ bus }) => bus === stream.bus);
  let [across, single, looked] = [0, 0, 0];
  for (let row = 1; row < stream.count; row++) {
    const skipped = value.skips[row] as number;
    if (!(skipped > 0)) continue;
    const who = bridging.get(row);
    if (who === 'logger') across += skipped;
    else if (who === undefined) {
      const [fromUs, toUs] = [stream.timeUs[row - 1] as number, stream.timeUs[row] as number];
      const isRun = skipped >= RUN_LEAST && looked++ < RUNS_LOOKED_AT;
      if (!isRun || !isRecorded(streams, fromUs, toUs)) single += skipped;
    }
  }
  return { across, single };
}
