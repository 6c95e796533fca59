/**
 * Jumps of the logger's clock that no single stamp betrays: at one instant the phases of all periodic identifiers of a bus move by one
 * and the same amount. A module that starts anew moves its own identifiers only; a bus that wakes moves each by another
 * amount; a pause of the logger moves none. Phases are followed in the order in which frames were
 * written, so that a clock that goes back a little is seen as well.
 */
import { lowerBound } from '../../frames/pictures/columns.ts';
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import { quantile } from '../robust.ts';
import type { SurveyFrame } from '../types.ts';
import { wrapped } from '../wrapped.ts';

export interface ClockJump {
  readonly bus: string;
  /** The last frame before it, and the first after, of the identifier that bounds it most closely. */
  readonly fromS: number;
  readonly atS: number;
  /** Positive where stamps after it are too late by so much. */
  readonly byS: number;
  /** The size shows only up to multiples of this: the longest period whose phase moved. */
  readonly moduloS: number;
  /** Periodic identifiers whose phase moved by that, and those that were heard on both sides. */
  readonly moved: number;
  readonly heard: number;
}

/** Frames on each side that tell a phase. */
const AROUND = 6;
const AROUND_LEAST = 3;
/** A phase, as the median of AROUND frames, has moved where it did by so many of the strays that one interval in ten exceeds, and of stamps' steps. */
const STRAYS = 2.5;
const STEPS = 3;
/** A stream whose phase seems to move so often has none. */
const MOVES_MOST = 0.02;
const MOVES_KEPT = 300;
const STREAMS_LEAST = 4;
/** Of the identifiers heard on both sides, so many must have moved alike. */
const SHARE_LEAST = 0.8;
/** And of all the bus's that keep a phase: the few that are awake may be one module's. */
const ALL_LEAST = 0.3;
/** Frames of one identifier that may be disturbed around a jump, in periods. */
const REACH_PERIODS = 2;
const JUMPS_KEPT = 200;
/** Across a silence the phase is as sure as the period, which is written with six digits. */
const PERIOD_ERROR = 2e-5;

/** One stream's phase, moved for good. */
interface Move {
  readonly place: number;
  /** Last frame before and first after, microseconds. */
  readonly fromUs: number;
  readonly toUs: number;
  /** -period / 2 .. period / 2 */
  readonly byUs: number;
}

interface Phased {
  readonly stream: Stream;
  readonly periodUs: number;
  readonly toleranceUs: number;
  readonly timeUs: Float64Array;
}

/** The stream's stamps in the order of the file. O(n), more where the order is not that of time. */
function inOrderOfFile({ timeUs, arrival, count }: Stream): Float64Array {
  let isAscending = true;
  for (let row = 1; row < count && isAscending; row++)
    isAscending = (arrival[row] as number) > (arrival[row - 1] as number);
  if (isAscending) return timeUs;
  const order = Uint32Array.from({ length: count }, (_, row) => row).sort(
    (a, b) => (arrival[a] as number) - (arrival[b] as number),
  );
  return Float64Array.from(order, (row) => timeUs[row] as number);
}

const ROWS_A_STEP = 100_000;
const STRAYS_LOOKED_AT = 2000;

/** How far single intervals stray from the period: their 90th percentile. */
function strayOf(timeUs: Float64Array, periodUs: number): number {
  const every = Math.max(1, Math.floor(timeUs.length / STRAYS_LOOKED_AT));
  const strays: number[] = [];
  for (let row = every; row < timeUs.length; row += every)
    strays.push(Math.abs(wrapped((timeUs[row] as number) - (timeUs[row - 1] as number), periodUs)));
  return quantile(Float64Array.from(strays).sort(), 0.9);
}

function phased(stream: Stream, { timing }: SurveyFrame, stepUs: number): Phased | null {
  const { kind, periodMs, burst } = timing;
  if (kind !== 'periodic' || periodMs === null || burst || stream.direction === 'sent') return null;
  const periodUs = periodMs * 1000;
  const timeUs = inOrderOfFile(stream);
  const toleranceUs = Math.max(STRAYS * strayOf(timeUs, periodUs), STEPS * stepUs);
  return toleranceUs < periodUs / 4 ? { stream, periodUs, toleranceUs, timeUs } : null;
}

/** Median phase of some rows against a reference instant, on the circle of the period. */
function phaseNear(timeUs: Float64Array, from: number, to: number, atUs: number, periodUs: number): number {
  const phases = new Float64Array(to - from);
  for (let row = from; row < to; row++) phases[row - from] = wrapped((timeUs[row] as number) - atUs, periodUs);
  return quantile(phases.sort(), 0.5);
}

/** Where the phase moves for good. O(n). */
function* movesOf({ timeUs, periodUs, toleranceUs, stream }: Phased, place: number): Steps<Move[] | null> {
  const moves: Move[] = [];
  const most = Math.min(MOVES_KEPT, Math.max(5, MOVES_MOST * stream.count));
  for (let row = 1; row < timeUs.length; row++) {
    if (row % ROWS_A_STEP === 0) yield;
    const before = timeUs[row - 1] as number;
    const stray = Math.abs(wrapped((timeUs[row] as number) - before, periodUs));
    if (stray < toleranceUs) continue;
    const [from, to] = [Math.max(0, row - AROUND), Math.min(timeUs.length, row + AROUND)];
    if (row - from < AROUND_LEAST || to - row < AROUND_LEAST) continue;
    const earlier = phaseNear(timeUs, from, row, before, periodUs);
    const later = phaseNear(timeUs, row, to, before, periodUs);
    const byUs = wrapped(later - earlier, periodUs);
    const driftUs = PERIOD_ERROR * Math.abs((timeUs[row] as number) - before);
    if (Math.abs(byUs) < toleranceUs + driftUs || driftUs > periodUs / 4) continue;
    const last = moves[moves.length - 1];
    // The frames right after a jump tell of the same one again.
    if (last && before - last.toUs < AROUND_LEAST * periodUs) {
      if (Math.abs(byUs) > Math.abs(last.byUs) * 1.5) moves[moves.length - 1] = move(place, before, timeUs[row], byUs);
      continue;
    }
    moves.push(move(place, before, timeUs[row], byUs));
    if (moves.length > most) return null;
  }
  return moves;
}

function move(place: number, before: number, after: number | undefined, byUs: number): Move {
  return { place, fromUs: Math.min(before, after ?? before), toUs: Math.max(before, after ?? before), byUs };
}

/** Whether a move by so much would show in a stream: whole periods of its own do not. */
const showsIn = ({ periodUs, toleranceUs }: Phased, byUs: number): boolean =>
  Math.round(byUs / periodUs) === 0 || Math.abs(wrapped(byUs, periodUs)) > 2 * toleranceUs;

/** Streams with a frame close to each side of an instant. */
function heardAround(streams: readonly Phased[], atUs: number): number {
  return streams.reduce((heard, { stream, periodUs }) => {
    const { timeUs, count } = stream;
    const row = lowerBound(timeUs, atUs, 0, count);
    const near = AROUND_LEAST * periodUs;
    const isBefore = row >= AROUND_LEAST && atUs - (timeUs[row - AROUND_LEAST] as number) < near + 2 * periodUs;
    const isAfter =
      row + AROUND_LEAST < count && (timeUs[row + AROUND_LEAST - 1] as number) - atUs < near + 2 * periodUs;
    return heard + (isBefore && isAfter ? 1 : 0);
  }, 0);
}

/**
 * The amount that most moves agree on, each on the circle of its own period: tried are the moves of the longest periods, which
 * leave the least room for turns.
 */
function commonShift(moves: readonly Move[], streams: readonly Phased[]): { byUs: number; agree: Move[] } {
  const byPeriod = [...moves].sort(
    (a, b) => (streams[b.place] as Phased).periodUs - (streams[a.place] as Phased).periodUs,
  );
  let best: { byUs: number; agree: Move[] } = { byUs: 0, agree: [] };
  for (const { byUs } of byPeriod.slice(0, 8)) {
    const agree = moves.filter((each) => {
      const { periodUs, toleranceUs } = streams[each.place] as Phased;
      const driftUs = PERIOD_ERROR * (each.toUs - each.fromUs);
      return Math.abs(wrapped(each.byUs - byUs, periodUs)) < 2 * toleranceUs + driftUs;
    });
    if (agree.length > best.agree.length) best = { byUs, agree };
  }
  return best;
}

interface Judged {
  readonly jump: ClockJump;
  readonly agree: readonly Move[];
}

function judge(bus: string, cluster: readonly Move[], streams: readonly Phased[]): Judged | null {
  if (cluster.length < STREAMS_LEAST) return null;
  const { byUs, agree } = commonShift(cluster, streams);
  // The shortest interval that bridges it says best when it was.
  const closest = agree.reduce(
    (best, each) => (each.toUs - each.fromUs < best.toUs - best.fromUs ? each : best),
    agree[0] as Move,
  );
  const atUs = closest.toUs;
  const telling = streams.filter((each, place) => showsIn(each, byUs) || agree.some((own) => own.place === place));
  const heard = Math.max(agree.length, heardAround(telling, (closest.fromUs + closest.toUs) / 2));
  if (agree.length < STREAMS_LEAST || agree.length < SHARE_LEAST * heard || agree.length < ALL_LEAST * telling.length)
    return null;
  const mean = agree.reduce(
    (sum, each) => sum + byUs + wrapped(each.byUs - byUs, (streams[each.place] as Phased).periodUs),
    0,
  );
  const modulo = agree.reduce((most, { place }) => Math.max(most, (streams[place] as Phased).periodUs), 0);
  const byS = mean / agree.length / 1e6;
  const around = { fromS: closest.fromUs / 1e6, atS: atUs / 1e6 };
  return { jump: { bus, ...around, byS, moduloS: modulo / 1e6, moved: agree.length, heard }, agree };
}

/**
 * The jumps among moves: moves of different streams whose intervals overlap, one of each. Moves are used up by jumps only, so that a lone
 * move shortly before takes no slow identifier away from the others. Cost: moves times those in as long as the longest lasts.
 */
function jumpsAmong(bus: string, moves: readonly Move[], streams: readonly Phased[]): ClockJump[] {
  const sorted = [...moves].sort((a, b) => a.toUs - b.toUs);
  const startUs = ({ fromUs, place }: Move): number => fromUs - REACH_PERIODS * (streams[place] as Phased).periodUs;
  const longestUs = sorted.reduce((most, each) => Math.max(most, each.toUs - startUs(each)), 0);
  const used = new Set<Move>();
  const jumps: ClockJump[] = [];
  for (const [i, first] of sorted.entries()) {
    if (used.has(first)) continue;
    const cluster = new Map([[first.place, first]]);
    for (let j = i + 1; j < sorted.length && (sorted[j] as Move).toUs - longestUs <= first.toUs; j++) {
      const next = sorted[j] as Move;
      if (startUs(next) <= first.toUs && !used.has(next) && !cluster.has(next.place)) cluster.set(next.place, next);
    }
    const found = judge(bus, [...cluster.values()], streams);
    if (!found?.agree.includes(first)) continue;
    jumps.push(found.jump);
    for (const each of cluster.values()) used.add(each);
  }
  return jumps;
}

/**
 * @param rows the survey's, in the order of the table's streams
 * @param stepUs what stamps are multiples of in effect
 * O(frames).
 */
export function* findJumps(table: FrameTable, rows: readonly SurveyFrame[], stepUs: number): Steps<ClockJump[]> {
  const jumps: ClockJump[] = [];
  for (const bus of table.buses) {
    const streams: Phased[] = [];
    const moves: Move[] = [];
    for (const [at, stream] of table.streams.entries()) {
      const found = stream.bus === bus ? phased(stream, rows[at] as SurveyFrame, stepUs) : null;
      if (!found) continue;
      const own = yield* movesOf(found, streams.length);
      yield;
      if (!own) continue;
      streams.push(found);
      moves.push(...own);
    }
    jumps.push(...jumpsAmong(bus, moves, streams).slice(0, JUMPS_KEPT));
    yield;
  }
  return jumps.sort((a, b) => a.atS - b.atS);
}
