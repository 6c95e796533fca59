/**
 * Which identifiers leave together: sent in the same busy period of the bus, tick by tick. Frames of one task do so all the capture
 * long; those of two modules for as long as their clocks' drift keeps them within a busy period of each other, and no longer. So
 * each eighth of the capture is counted apart.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { Stream } from '../../frames/table.ts';
import { quantile, sortedSample } from '../robust.ts';
import type { BusFrames } from '../bus-frames.ts';
import type { BusyPeriods } from './busy-periods.ts';
import { ERAS, eraOf } from './eras.ts';
import { placesOf } from './neighbours.ts';

/** Companions share so many of the busy periods that they could, in all eras. */
const SHARED_LEAST = 0.9;
const ERA_FRAMES_LEAST = 4;
/** Of the distances of an era, the share that is shorter than the one compared. */
const EDGE_SHARE = 0.1;
/** Of the eras, the share in which a frame keeps its distance: in the others, foreign frames come between. */
const NEAR_LEAST = 0.5;
/** Longer busy periods say little about who belongs together, and cost much. */
const PERIOD_FRAMES_MAX = 40;
const ROWS_A_STEP = 50_000;

export interface Companions {
  /** [n * n * ERAS] busy periods in which both were sent. */
  readonly together: Uint32Array;
  /** [n * ERAS] busy periods in which each was sent. */
  readonly each: Uint32Array;
  readonly n: number;
}

/** Frames of one busy period are counted, those held against each other only. `places`: of those, `filled` of them. */
function countPeriod({ together, each, n }: Companions, era: number, places: Int16Array, filled: number): void {
  for (let i = 0; i < filled; i++) {
    const a = places[i] as number;
    each[a * ERAS + era] = (each[a * ERAS + era] as number) + 1;
    for (let j = 0; j < i; j++) {
      const b = places[j] as number;
      if (a === b) continue;
      const [ab, ba] = [(a * n + b) * ERAS + era, (b * n + a) * ERAS + era];
      together[ab] = together[ba] = (together[ab] as number) + 1;
    }
  }
}

/** @param streams those that are held against each other. Cost: O(frames x frames of a busy period) */
export function* countCompanions(
  streams: readonly Stream[],
  buses: readonly BusFrames[],
  busy: BusyPeriods,
  endUs: number,
): Steps<Companions> {
  const n = streams.length;
  const counts = { together: new Uint32Array(n * n * ERAS), each: new Uint32Array(n * ERAS), n };
  const placeOf = placesOf(streams, buses);
  const places = new Int16Array(PERIOD_FRAMES_MAX);
  for (const [bus, { timeUs, stream }] of buses.entries()) {
    const starts = busy.starts[bus] as Uint32Array;
    for (let p = 0; p + 1 < starts.length; p++) {
      const [from, to] = [starts[p] as number, starts[p + 1] as number];
      let filled = 0;
      for (let i = from; i < to && filled < PERIOD_FRAMES_MAX; i++) {
        const place = placeOf[stream[i] as number] as number;
        if (place >= 0) places[filled++] = place;
      }
      countPeriod(counts, eraOf(timeUs[from] as number, endUs), places, filled);
      if (p % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
    }
  }
  return counts;
}

/** [ERAS] share of the busy periods of the rarer of two in which the other was sent too; -1 where either hardly was. */
export function sharedByEra({ together, each, n }: Companions, a: number, b: number): Float64Array {
  return Float64Array.from({ length: ERAS }, (_, era) => {
    const rarer = Math.min(each[a * ERAS + era] as number, each[b * ERAS + era] as number);
    return rarer < ERA_FRAMES_LEAST ? -1 : (together[(a * n + b) * ERAS + era] as number) / rarer;
  });
}

function isTogether(companions: Companions, a: number, b: number): boolean {
  const shares = sharedByEra(companions, a, b).filter((share) => share >= 0);
  return shares.length >= 2 && shares.every((share) => share >= SHARED_LEAST);
}

/**
 * Whether frames of a stream keep their distance to the opener of their busy period from era to era: frames of one task queue one
 * behind the other, always the same; another module's frame is found behind an ever different one.
 */
function keepsDistance(stream: Stream, opener: number, busy: BusyPeriods, { endUs, withinUs }: Within): boolean {
  const [began, openedBy] = [busy.beganUs[stream.index] as Float64Array, busy.openedBy[stream.index] as Int16Array];
  const delays: number[][] = Array.from({ length: ERAS }, () => []);
  for (let row = 0; row < stream.count; row++) {
    if (openedBy[row] !== opener) continue;
    const us = began[row] as number;
    (delays[eraOf(us, endUs)] as number[]).push((stream.timeUs[row] as number) - us);
  }
  const edges = delays.map((each) =>
    each.length < ERA_FRAMES_LEAST ? Infinity : quantile(sortedSample(Float64Array.from(each)), EDGE_SHARE),
  );
  const least = Math.min(...edges);
  const near = edges.map((edge) => edge - least <= withinUs);
  const heard = edges.filter(Number.isFinite).length;
  return near.filter(Boolean).length >= Math.max(NEAR_LEAST * heard, 2);
}

interface Within {
  readonly endUs: number;
  /** Half a frame's time on the wire. */
  readonly withinUs: number;
}

/** Streams whose frames open the busy periods that this one's are sent in, all the capture long, as if one task sent both: indexes in the table. */
export function openersOf(
  streams: readonly Stream[],
  place: number,
  companions: Companions,
  busy: BusyPeriods,
  endUs: number,
): Set<number> {
  const own = streams[place] as Stream;
  const withinUs = (busy.wireUs[own.index] as number) / 2;
  const openers = streams.filter(
    ({ index }, other) =>
      other !== place && isTogether(companions, place, other) && keepsDistance(own, index, busy, { endUs, withinUs }),
  );
  return new Set([own.index, ...openers.map(({ index }) => index)]);
}
