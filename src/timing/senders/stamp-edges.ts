/**
 * A clock's rate from stamps that step: while a clock strays by one step against the stamps, its frames cross from one value to the
 * next, and the last frame before the crossing that was not kept waiting shows when. A parabola through these edges is good to a
 * small part of a step, where every single stamp is wrong by half of one. The edges are the corners on which the lower hull of
 * Moon, Skelly and Towsley 1999 would rest; many of them tell their own error.
 */
import { MICROS_PER_SECOND } from '../../kit/units.ts';
import type { ClockTrack } from './clock-track.ts';
import { fitDrift } from './drift-fit.ts';

/** A clock's own rate over the capture. */
export interface OwnRate {
  /** Parts per million at the middle of the capture; above 0: it runs fast. */
  readonly ppm: number;
  readonly se: number;
  /** How the rate changes, ppm per 100 s; its standard error is Infinity where it does not show. */
  readonly bend: number;
  readonly bendSe: number;
}

const EDGES_LEAST = 6;
/** Share of the capture that the edges must lie across. */
const SPAN_LEAST = 0.5;
/** An edge strays by so much at least: task scatter and stuff bits, microseconds. */
const EDGE_US = 20;
/** A new value is this much of a step away. */
const NEW_VALUE = 0.25;

interface Edges {
  readonly timeUs: readonly number[];
  readonly strayUs: readonly number[];
}

/** Where the least stray from here on rises for good, or falls for the first time. O(n) */
function findEdges(
  timeUs: Float64Array,
  { strayUs, fromRow, toRow }: ClockTrack,
  stepUs: number,
  rises: boolean,
): Edges {
  const edges = { timeUs: [] as number[], strayUs: [] as number[] };
  let least = Infinity;
  for (let i = 0; i < toRow - fromRow; i++) {
    const row = rises ? toRow - 1 - i : fromRow + i;
    const stray = strayUs[row] as number;
    if (!(stray < least - NEW_VALUE * stepUs)) continue;
    if (least < Infinity) {
      edges.timeUs.push(timeUs[row] as number);
      edges.strayUs.push(stray);
    }
    least = stray;
  }
  return edges;
}

/** @param ppm a first rate, right in sign. null where too few steps are crossed. O(n) */
export function rateFromEdges(
  timeUs: Float64Array,
  track: ClockTrack,
  stepUs: number,
  endUs: number,
  ppm: number,
): OwnRate | null {
  const edges = findEdges(timeUs, track, stepUs, ppm < 0);
  const n = edges.timeUs.length;
  if (n < EDGES_LEAST || Math.abs((edges.timeUs[n - 1] as number) - (edges.timeUs[0] as number)) < SPAN_LEAST * endUs)
    return null;
  const order = [...edges.timeUs.keys()].sort((a, b) => (edges.timeUs[a] as number) - (edges.timeUs[b] as number));
  const halfS = endUs / 2 / MICROS_PER_SECOND;
  const u = Float64Array.from(order, (i) => (edges.timeUs[i] as number) / (endUs / 2) - 1);
  const y = Float64Array.from(order, (i) => edges.strayUs[i] as number);
  const { slope, bend, slopeSe, bendSe } = fitDrift(u, y, new Float64Array(n).fill(EDGE_US));
  const toBend = 200 / halfS ** 2;
  return { ppm: -slope / halfS, se: slopeSe / halfS, bend: -bend * toBend, bendSe: bendSe * toBend };
}
