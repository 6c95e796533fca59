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
  /** Who fell silent: the logger (counters went on), the bus (they stood still), or nobody can say. */
  readonly who: 'logger' | 'bus' | 'unknown';
  /** Frames that counters miss across it, and how many counters told. */
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

export function bestValue(values: readonly RollingValue[]): RollingValue | null {
  const width = ({ min, max }: RollingValue): number => max - min;
  return values.reduce<RollingValue | null>(
    (best, value) =>
      !best || width(value) > width(best) || (width(value) === width(best) && value.unknown < best.unknown)
        ? value
        : best,
    null,
  );
}

/** The rolling values of all received streams. O(frames). */
export function* rollingByStream(table: FrameTable): Steps<Map<Stream, readonly RollingValue[]>> {
  const found = new Map<Stream, readonly RollingValue[]>();
  for (const stream of table.streams) {
    if (stream.direction === 'sent') continue;
    found.set(stream, yield* rollingValues(stream));
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

function judgePause(bus: string, fromS: number, toS: number, counted: readonly StreamLosses[]): ClockPause {
  let [went, stood, lost] = [0, 0, 0];
  for (const { stream, value } of counted) {
    const row = stream.bus === bus ? rowAfter(stream, fromS, toS) : -1;
    const skipped = row < 0 ? Number.NaN : (value.skips[row] as number);
    if (skipped > 0) went++;
    else if (skipped === 0 && isOverdue(stream, row)) stood++;
    if (skipped > 0) lost += skipped;
  }
  const counters = went + stood;
  const isTold = counters >= COUNTERS_LEAST;
  const who = isTold && went >= AGREE * counters ? 'logger' : isTold && stood >= AGREE * counters ? 'bus' : 'unknown';
  return { bus, fromS, toS, who, lost, counters };
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
  const inPauses = pauses.reduce((sum, pause) => sum + pause.lost, 0);
  const frames = counted.reduce((sum, { value }) => sum + value.lost, 0);
  const hasCounter = new Set(counted.map(({ stream }) => stream));
  const gridded = rows.filter(
    (row, at) => row.missed !== null && row.direction === 'received' && !hasCounter.has(table.streams[at] as Stream),
  );
  const rates = counted.map(({ stream, value }) => {
    const across = pauses.reduce((sum, pause) => sum + lostAcross(stream, value, pause), 0);
    return { lost: value.lost - across, sent: stream.count + value.lost - across };
  });
  return {
    frames,
    inPauses,
    counters: counted.length,
    counted: counted.reduce((sum, { stream }) => sum + stream.count, 0),
    untold: counted.reduce((sum, { value }) => sum + value.unknown, 0),
    restarts: counted.reduce((sum, { value }) => sum + value.restarts.length, 0),
    byTicks: gridded.reduce((sum, { missed }) => sum + (missed ?? 0), 0),
    gridded: gridded.length,
    inAll: carriedOver(rates, table.frameCount),
  };
}

function lostAcross(stream: Stream, { skips }: RollingValue, { bus, fromS, toS }: ClockPause): number {
  const row = stream.bus === bus ? rowAfter(stream, fromS, toS) : -1;
  const skipped = row < 0 ? 0 : (skips[row] as number);
  return skipped > 0 ? skipped : 0;
}
