/**
 * The health of the logger's own clock, before anything that rests on it: what stamps step by, jumps that no stamp betrays, pauses, and how
 * many frames were lost. Put together from the parts in this folder; O(frames).
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { ClockEvent, FrameTable } from '../../frames/table.ts';
import { leastBits } from '../../frames/wire.ts';
import type { BusOrder } from '../bus-order.ts';
import type { BusRates, SurveyFrame } from '../types.ts';
import { findJumps, type ClockJump } from './jumps.ts';
import { countersOf, judgePauses, sumLosses, type ClockPause, type FramesLost, type StreamLosses } from './losses.ts';
import { stampResolution } from './resolution.ts';
import { judgeBatching, type Batching } from './spacings.ts';
import { findTick, type Tick } from './tick.ts';

export interface ClockHealth {
  readonly resolutionUs: number;
  /** null where stamps step by their resolution and no coarser. */
  readonly tick: Tick | null;
  readonly jumps: readonly ClockJump[];
  readonly pauses: readonly ClockPause[];
  /** null where the file has no stamps. */
  readonly lost: FramesLost | null;
  /** The widest rolling counter of each received stream that has one; none where the file has no stamps. */
  readonly counted: readonly StreamLosses[];
}

/** What stamps are multiples of in effect, batches aside. */
export const stepOf = ({ resolutionUs, tick }: Pick<ClockHealth, 'resolutionUs' | 'tick'>): number =>
  Math.max(resolutionUs, tick?.tickUs ?? 0);

const AT_PAUSE_S = 0.5;
/** A vehicle that starts anew moves all phases too, and where all modules boot alike, by one amount. */
const START_ANEW_S = 0.5;

const isAt = ({ bus, fromS, atS }: ClockJump, pause: ClockPause): boolean =>
  bus === pause.bus && atS >= pause.fromS - AT_PAUSE_S && fromS <= pause.toS + AT_PAUSE_S;

/** Across a long silence only where counters say that the vehicle ran on, or stood still with the stamps. */
function isOfTheClock(jump: ClockJump, pauses: readonly ClockPause[]): boolean {
  const long = pauses.filter((pause) => isAt(jump, pause) && pause.toS - pause.fromS > START_ANEW_S);
  return long.every(({ who }) => who !== 'unknown');
}

const NEAR_PAUSE_S = 0.05;
const NEAR_MENDED_S = 0.05;

/** Whether the reader mended the clock there: it can only guess how long the interval was, and what it is off by is no jump of its own. */
const isMended = ({ fromS, atS }: ClockJump, events: readonly ClockEvent[]): boolean =>
  events.some(
    ({ kind, atS: mendedS }) =>
      (kind === 'jump-back' || kind === 'restart') &&
      mendedS >= fromS - NEAR_MENDED_S &&
      mendedS <= atS + NEAR_MENDED_S,
  );

/** Over a silence in which the bus stood still, the jump is as long as that: as many whole periods more as it takes. */
function sized(jump: ClockJump, pauses: readonly ClockPause[]): ClockJump {
  const over = pauses.find((pause) => pause.who !== 'logger' && isAt(jump, pause));
  if (!over) return jump;
  const lengthS = over.toS - over.fromS;
  const byS = jump.byS + jump.moduloS * Math.round((lengthS - jump.byS) / jump.moduloS);
  return Math.abs(lengthS - byS) < NEAR_PAUSE_S ? { ...jump, byS } : jump;
}

/** Whether the silence is the jump itself: counters stood still, and stamps went on by its length. */
function isJumpOver(jump: ClockJump, pause: ClockPause): boolean {
  if (pause.who === 'logger' || !isAt(jump, pause)) return false;
  const left = pause.toS - pause.fromS - jump.byS;
  const turns = Math.round(left / jump.moduloS);
  return pause.who === 'bus' || (turns === 0 && Math.abs(left) < NEAR_PAUSE_S);
}

const asJump = (pause: ClockPause): ClockPause => ({ ...pause, who: 'clock' });

/**
 * @param rows the survey's, in the order of the table's streams
 * @param orders in the order of the table's buses
 */
export function* clockHealth(
  table: FrameTable,
  rows: readonly SurveyFrame[],
  orders: readonly BusOrder[],
): Steps<ClockHealth> {
  const resolutionUs = stampResolution(table);
  if (table.origin.kind === 'none') return { resolutionUs, tick: null, jumps: [], pauses: [], lost: null, counted: [] };
  const counted = yield* countersOf(table);
  const tick = findTick(
    orders.map(({ spacings }) => spacings),
    resolutionUs,
  );
  yield;
  const silences = judgePauses(table, orders, counted);
  yield;
  const moves = yield* findJumps(table, rows, stepOf({ resolutionUs, tick }));
  const mended = table.files.flatMap(({ clockEvents }) => clockEvents);
  const jumps = moves
    .filter((jump) => isOfTheClock(jump, silences) && !isMended(jump, mended))
    .map((jump) => sized(jump, silences));
  const pauses = silences.map((pause) => (jumps.some((jump) => isJumpOver(jump, pause)) ? asJump(pause) : pause));
  const lost = sumLosses(table, rows, counted, pauses);
  return { resolutionUs, tick, jumps, pauses, lost, counted };
}

export interface BusBatching extends Batching {
  readonly bus: string;
}

/** Highest rates in use: 1 Mbit/s, and 8 Mbit/s in the data phase (CiA 601, from memory). */
const RATE_MOST = 1e6;
const DATA_RATE_MOST = 8e6;
/** A CAN FD frame has at least so many bits at the bus's own rate: start, identifier, control, acknowledge, end, between frames. */
const FD_NOMINAL_LEAST = 29;
/** Lengths that hardly come decide nothing. */
const RARE = 0.02;

/** The least time that a frame of this bus occupies the wire, microseconds. */
function leastUsOn(table: FrameTable, bus: string, rates: BusRates): number {
  const streams = table.streams.filter((stream) => stream.bus === bus);
  const frames = streams.reduce((sum, { count }) => sum + count, 0);
  const rate = rates[bus];
  const nominal = rate?.bitrate ?? RATE_MOST;
  const data = rate ? (rate.dataBitrate ?? rate.bitrate) : DATA_RATE_MOST;
  const least = streams.reduce((us, { fdFlags, length, extended, count }) => {
    if (count < RARE * frames) return us;
    const classicalUs = (1e6 * leastBits(length, extended)) / nominal;
    const fdUs = (1e6 * FD_NOMINAL_LEAST) / nominal + (8e6 * length) / data;
    return Math.min(us, fdFlags ? fdUs : classicalUs);
  }, Infinity);
  return Number.isFinite(least) ? least : 1;
}

/** @param stepUs what stamps are multiples of in effect */
export function busBatches(
  table: FrameTable,
  orders: readonly BusOrder[],
  rates: BusRates,
  stepUs: number,
): BusBatching[] {
  if (table.origin.kind === 'none') return [];
  return table.buses.flatMap((bus, place): BusBatching[] => {
    const order = orders[place] as BusOrder;
    const found = judgeBatching(order.spacings, leastUsOn(table, bus, rates), stepUs);
    return found ? [{ bus, ...found }] : [];
  });
}
