/**
 * Which identifiers leave together, by order alone: how many frames of the bus lie between two identifiers' frames, counted era by
 * era. Order needs no stamps, so it speaks where they step or frames come in batches. Frames of one task keep their distance
 * all the capture long; those of two clocks pass each other, or others pass between them.
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import { MISSING } from '../../kit/missing.ts';
import type { Stream } from '../../frames/table.ts';
import type { BusFrames } from '../bus-frames.ts';
import { ERAS, eraOf } from './eras.ts';

/** Frames further apart in order than this are not together. */
const RANKS = 10;
const FRAMES_LEAST = 4;
/** Of the distances of an era, the share that is shorter than the one compared: foreign frames only come in between. */
const EDGE_SHARE = 0.15;
/** Together: so many of the rarer one's frames have the other near them. */
const NEAR_SHARE = 0.85;
const APART_SHARE = 0.25;
/** Of the eras, those in which the distance is the usual one: in the others, foreign frames come between. */
const USUAL_LEAST = 0.6;
const ROWS_A_STEP = 50_000;
/** So many frames of a bus tell enough; they are taken in stretches from all over the capture. */
const FRAMES_MOST = 300_000;
const STRETCHES = 128;

export interface Neighbours {
  readonly n: number;
  /** [ERAS * n * n * RANKS] how often the column's frame came 1 .. RANKS frames after the row's. */
  readonly after: Uint32Array;
  /** [n * ERAS] frames of each. */
  readonly frames: Uint32Array;
  /** Mean time between two frames of a bus, microseconds. */
  readonly slotUs: number;
}

/** By index in the table: the place among the streams that are held against each other, or -1. */
export function placesOf(streams: readonly Stream[], buses: readonly BusFrames[]): Int16Array {
  const all = buses.flatMap((bus) => bus.streams);
  const places = new Int16Array(1 + all.reduce((most, { index }) => Math.max(most, index), 0)).fill(-1);
  for (const [place, { index }] of streams.entries()) places[index] = place;
  return places;
}

/** @param streams those that are held against each other. Cost: a sample of the frames x RANKS */
export function* countNeighbours(
  streams: readonly Stream[],
  buses: readonly BusFrames[],
  endUs: number,
): Steps<Neighbours> {
  const n = streams.length;
  const placeOf = placesOf(streams, buses);
  const [after, frames] = [new Uint32Array(ERAS * n * n * RANKS), new Uint32Array(n * ERAS)];
  let all = 0;
  for (const { timeUs, stream } of buses) {
    all += timeUs.length;
    const stretch = Math.ceil(timeUs.length / STRETCHES);
    const looked = Math.ceil(Math.min(1, FRAMES_MOST / timeUs.length) * stretch);
    for (let i = 0; i < stream.length; i++) {
      if (i % ROWS_A_STEP === ROWS_A_STEP - 1) yield;
      if (i % stretch >= looked) continue;
      const b = placeOf[stream[i] as number] as number;
      if (b < 0) continue;
      const era = eraOf(timeUs[i] as number, endUs);
      frames[b * ERAS + era] = (frames[b * ERAS + era] as number) + 1;
      for (let back = 1; back <= Math.min(RANKS, i); back++) {
        const a = placeOf[stream[i - back] as number] as number;
        if (a < 0) continue;
        const ab = ((era * n + a) * n + b) * RANKS + back - 1;
        after[ab] = (after[ab] as number) + 1;
        if (a === b) break;
      }
    }
  }
  return { n, after, frames, slotUs: (endUs * buses.length) / Math.max(1, all) };
}

interface EraOrder {
  /** Share of the rarer one's frames that have the other near; MISSING with too few. */
  readonly near: number;
  /** Usual least distance, signed; MISSING without. */
  readonly edge: number;
}

/** Distance in order of the other's frames, from the side on which most of them are. */
function eraOrder({ n, after: counts, frames }: Neighbours, a: number, b: number, era: number): EraOrder {
  const rarer = Math.min(frames[a * ERAS + era] as number, frames[b * ERAS + era] as number);
  if (rarer < FRAMES_LEAST) return { near: MISSING, edge: MISSING };
  const sideOf = (sign: 1 | -1): { count: number; edge: number } => {
    const pair = sign > 0 ? a * n + b : b * n + a;
    const at = (rank: number): number => counts[(era * n * n + pair) * RANKS + rank - 1] as number;
    let count = 0;
    for (let rank = 1; rank <= RANKS; rank++) count += at(rank);
    let [sum, edge] = [0, 0];
    while (edge < RANKS && sum <= EDGE_SHARE * count) sum += at(++edge);
    return { count, edge: sign * edge };
  };
  const [after, before] = [sideOf(1), sideOf(-1)];
  const most = after.count >= before.count ? after : before;
  return { near: Math.min(1, most.count / rarer), edge: most.count === 0 ? MISSING : most.edge };
}

export interface Together {
  /** 'together': near and at one distance all along; 'passing': together in some eras, apart in others; 'apart': neither. */
  readonly kind: 'together' | 'passing' | 'apart';
  /** Frames from one to the other, where together. */
  readonly ranks: number;
}

/** How two identifiers' frames lie in order. O(ERAS x RANKS) */
export function togetherness(neighbours: Neighbours, a: number, b: number): Together {
  const eras = Array.from({ length: ERAS }, (_, era) => eraOrder(neighbours, a, b, era)).filter(
    ({ near }) => !Number.isNaN(near),
  );
  const close = eras.filter(({ near }) => near >= NEAR_SHARE);
  const counts = new Map<number, number>();
  for (const { edge } of close) counts.set(edge, (counts.get(edge) ?? 0) + 1);
  const [edge, often] = [...counts].sort((x, y) => y[1] - x[1])[0] ?? [0, 0];
  const lasts =
    [0, 1].some((i) => close.includes(eras[i] as EraOrder)) && close.includes(eras[eras.length - 1] as EraOrder);
  const isClose = close.length >= eras.length - 1 && eras.length >= 3;
  if (isClose && lasts && often >= USUAL_LEAST * eras.length) return { kind: 'together', ranks: Math.abs(edge) };
  const wereAdjacent = close.some(({ edge: own }) => Math.abs(own) <= 2);
  const left = eras.some(({ near }) => near <= APART_SHARE);
  return { kind: wereAdjacent && left ? 'passing' : 'apart', ranks: 0 };
}
