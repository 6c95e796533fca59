/**
 * Two loggers in one capture are two clocks. Files that share no bus are taken for different loggers'; frames that a gateway copies between
 * their buses tell how the clocks lie to each other, without anything assumed of the offset. Where they tell, the later
 * logger's frames are moved onto the first one's clock; where they do not, nothing across the two may be said.
 */
import type { Steps } from '../../../frames/pictures/steps.ts';
import type { ClockPiece, FrameTable, LoggerClock, Stream } from '../../../frames/table.ts';
import { changesOf, sharedMoments, type Changes } from './anchors.ts';
import { copiedFrames, firstLine, type CopiedFrames } from './copied.ts';
import { clockLine, type ClockLine } from './line.ts';
import { alignedWords, NOT_ALIGNED, sameClockWords } from './logger-words.ts';
import { moveBuses, withOriginAtFirst } from './retime.ts';
import { stepsWithin } from './steps.ts';
import { crowdsOf, type Crowd } from './votes.ts';

/** What one logger recorded. */
export interface Logger {
  readonly buses: readonly string[];
  readonly files: readonly string[];
}

/** Files that share a bus are one logger's, one after the other. In the order of the files. */
export function loggersOf({ files }: FrameTable): Logger[] {
  const loggers: { buses: Set<string>; files: string[] }[] = [];
  for (const file of files) {
    const known = loggers.filter(({ buses }) => file.buses.some((bus) => buses.has(bus)));
    const [first, ...others] = known;
    if (!first) loggers.push({ buses: new Set(file.buses), files: [file.name] });
    else {
      for (const bus of [...file.buses, ...others.flatMap((other) => [...other.buses])]) first.buses.add(bus);
      first.files.push(...others.flatMap((other) => other.files), file.name);
      for (const other of others) loggers.splice(loggers.indexOf(other), 1);
    }
  }
  return loggers
    .filter(({ buses }) => buses.size > 0)
    .map(({ buses, files: names }) => ({ buses: [...buses].sort(), files: names }));
}

/** One stretch in which the second clock ran on undisturbed, in its own time. */
export interface Stretch {
  readonly fromUs: number;
  readonly toUs: number;
  readonly line: ClockLine;
}

/** Fewer copied frames than this carry no alignment. */
const FRAMES_LEAST = 30;
/** What a line leaves beyond this is no gateway's delay. */
const SCATTER_MOST_US = 30_000;

const within = (pairs: readonly CopiedFrames[], fromUs: number, toUs: number): CopiedFrames[] =>
  pairs.flatMap((pair) => {
    const kept = [...pair.bUs.keys()].filter((i) => {
      const us = pair.bUs[i] as number;
      return us >= fromUs && us < toUs;
    });
    if (kept.length < 10) return [];
    const of = (column: Float64Array): Float64Array => Float64Array.from(kept, (i) => column[i] as number);
    return [{ ...pair, aUs: of(pair.aUs), bUs: of(pair.bUs) }];
  });

/** The stretches of one crowd: it is cut where the difference steps by less than the crowd is wide. */
function stretchesOf(pairs: readonly CopiedFrames[], fromUs: number, toUs: number): Stretch[] {
  const cuts = stepsWithin(pairs);
  const edges = [fromUs, ...cuts, toUs];
  return edges.slice(1).flatMap((to, i): Stretch[] => {
    const from = edges[i] as number;
    const own = cuts.length === 0 ? [...pairs] : within(pairs, from, to);
    return own.length === 0 ? [] : [{ fromUs: from, toUs: to, line: clockLine(own) }];
  });
}

/** Where one crowd ends and the next begins: halfway between their nearest moments. */
function edgesOf(crowds: readonly Crowd[]): number[] {
  const between = crowds.slice(1).map((crowd, i) => ((crowds[i] as Crowd).toUs + crowd.fromUs) / 2);
  return [-Infinity, ...between, Infinity];
}

/** How the clock behind `bs` lies to that behind `as`, stretch by stretch; empty where nothing tells. */
function* compareClocks(as: readonly Changes[], bs: readonly Changes[], durationUs: number): Steps<Stretch[]> {
  const crowds = crowdsOf(yield* sharedMoments(as, bs), durationUs);
  yield;
  const edges = edgesOf(crowds);
  const stretches: Stretch[] = [];
  for (const [at, crowd] of crowds.entries()) {
    const [from, to] = [edges[at] as number, edges[at + 1] as number];
    const pairs = copiedFrames(crowd, firstLine(crowd), as, bs, from, to);
    yield;
    stretches.push(...stretchesOf(pairs, from, to));
    yield;
  }
  return stretches.filter(({ line }) => line.n >= FRAMES_LEAST && line.scatterUs < SCATTER_MOST_US);
}

const SURE_SE = 3;

/**
 * One clock: a difference and a drift of nothing, as far as can be told. Two clocks that were never set to each other agree so well by chance
 * only once in thousands.
 */
function isSameClock(stretches: readonly Stretch[]): boolean {
  const [first] = stretches;
  if (!first || stretches.length > 1) return false;
  const { drift, driftSe, offsetUs, offsetSeUs } = first.line;
  return Math.abs(drift) <= SURE_SE * driftSe && Math.abs(offsetUs) <= SURE_SE * offsetSeUs;
}

function piecesOf(stretches: readonly Stretch[]): ClockPiece[] {
  return stretches.map(({ fromUs, line }, at) => ({
    fromUs: at === 0 ? -Number.MAX_VALUE : fromUs,
    byUs: -line.offsetUs,
    // own + byUs + drift (own - pivot): a clock that gains is slowed down.
    drift: -line.drift,
    pivotUs: line.pivotUs,
  }));
}

function foundClock(logger: Logger, first: Logger, stretches: readonly Stretch[]): LoggerClock {
  const last = (stretches[stretches.length - 1] as Stretch).line;
  const isSame = isSameClock(stretches);
  const seconds = (us: number): number => Number((us / 1e6).toFixed(9));
  return {
    ...logger,
    state: isSame ? 'same-clock' : 'aligned',
    offsetS: seconds(last.offsetUs),
    offsetSe: seconds(last.offsetSeUs),
    offsetBoundsS: last.boundsUs && [seconds(last.boundsUs[0]), seconds(last.boundsUs[1])],
    driftPpm: Number((1e6 * last.drift).toPrecision(6)),
    driftSe: Number((1e6 * last.driftSe).toPrecision(3)),
    n: stretches.reduce((sum, { line }) => sum + line.n, 0),
    pieces: isSame ? [] : piecesOf(stretches),
    why: isSame ? sameClockWords(first, last) : alignedWords(first, stretches),
  };
}

const unknownClock = (logger: Logger): LoggerClock => ({
  ...logger,
  state: 'not-aligned',
  offsetS: null,
  offsetSe: null,
  offsetBoundsS: null,
  driftPpm: null,
  driftSe: null,
  n: 0,
  pieces: [],
  why: NOT_ALIGNED,
});

function* changesOn(streams: readonly Stream[], buses: ReadonlySet<string>): Steps<Changes[]> {
  const all: Changes[] = [];
  for (const stream of streams) {
    if (buses.has(stream.bus) && stream.direction === 'received') all.push(yield* changesOf(stream));
    yield;
  }
  return all;
}

/**
 * The table with all loggers on the first one's clock, as far as copied frames tell, and `loggers` filled in. The very table where there
 * is one logger only. O(frames); with more than two loggers, for each that is not yet placed.
 */
export function* alignLoggers(read: FrameTable): Steps<FrameTable> {
  const [first, ...others] = loggersOf(read);
  if (!first || others.length === 0 || read.origin.kind === 'none') return read;
  let table = read;
  const placed = new Set(first.buses);
  const clocks = new Map<Logger, LoggerClock>();
  for (let progress = true; progress;) {
    progress = false;
    for (const logger of others) {
      if (clocks.has(logger)) continue;
      const as = yield* changesOn(table.streams, placed);
      const bs = yield* changesOn(table.streams, new Set(logger.buses));
      const stretches = yield* compareClocks(as, bs, table.endUs);
      if (stretches.length === 0) continue;
      const clock = foundClock(logger, first, stretches);
      clocks.set(logger, clock);
      if (clock.pieces.length > 0) table = moveBuses(table, new Set(logger.buses), clock.pieces);
      logger.buses.forEach((bus) => placed.add(bus));
      progress = true;
      yield;
    }
  }
  return withOriginAtFirst({ ...table, loggers: others.map((logger) => clocks.get(logger) ?? unknownClock(logger)) });
}

/** By bus: a number that buses of one clock share. Within one number times may be held against each other. */
export function clockByBus(table: FrameTable): ReadonlyMap<string, number> {
  const apart = (table.loggers ?? []).filter(({ state }) => state === 'not-aligned');
  return new Map(table.buses.map((bus) => [bus, 1 + apart.findIndex(({ buses }) => buses.includes(bus))]));
}
