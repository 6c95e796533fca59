/**
 * How surely one identifier's rate follows from order: with all other lines held, every frame lies between its neighbours in order
 * and within its stamp's step. For each rate the level that violates these least is found; what rates then explain as
 * well as any gives the rate and its error (profile likelihood: Pawitan 2001, "In all likelihood", chapter 3).
 */
import type { Lines, OrderedFrames } from './order-fit.ts';
import { predicted } from './order-fit.ts';
import type { OwnRate } from './stamp-edges.ts';

/** What one stream's frames lie between. */
export interface Bounds {
  /** [n] where in the capture, -1..1. */
  readonly u: Float64Array;
  /** [n] least and most stray that order and stamp allow, the line's bend taken off. */
  readonly lowUs: Float64Array;
  readonly highUs: Float64Array;
}

/** So many frames of a stream tell enough. */
const FRAMES_MOST = 1200;
/** Rates tried: this much apart at first, growing with their distance, parts per million. */
const RATE_STEP_PPM = 0.05;
const RATE_GROWTH = 1.25;
const RATE_FURTHEST_PPM = 150;
/** Waits and scatter, microseconds; so many frames in a row share theirs. */
const NOISE_US = 150;
const INDEPENDENT = 64;
const LEVEL_STEPS = 30;

/** For each stream of one bus. O(n) */
export function boundsOf(frames: OrderedFrames, lines: Lines, streams: number): Bounds[] {
  const us = predicted(frames, lines);
  const counts = new Uint32Array(streams);
  for (let i = 0; i < frames.n; i++)
    counts[frames.place[i] as number] = (counts[frames.place[i] as number] as number) + 1;
  const every = Array.from(counts, (count) => Math.max(1, Math.ceil(count / FRAMES_MOST)));
  const rows: number[][] = Array.from({ length: streams }, () => []);
  counts.fill(0);
  for (let i = 0; i < frames.n; i++) {
    const place = frames.place[i] as number;
    const seen = counts[place] as number;
    counts[place] = seen + 1;
    if (seen % (every[place] as number) === 0) (rows[place] as number[]).push(i);
  }
  return rows.map((each, place) => boundsOver(frames, us, lines[3 * place + 2] as number, each));
}

function boundsOver(frames: OrderedFrames, us: Float64Array, bend: number, rows: readonly number[]): Bounds {
  const { n, place, tickUs, u, afterUs, untilUs } = frames;
  const make = (): Float64Array => new Float64Array(rows.length);
  const bounds = { u: make(), lowUs: make(), highUs: make() };
  for (const [k, i] of rows.entries()) {
    const own = place[i] as number;
    const before = i > 0 && place[i - 1] !== own ? (us[i - 1] as number) : -Infinity;
    const after = i + 1 < n && place[i + 1] !== own ? (us[i + 1] as number) : Infinity;
    const base = (tickUs[i] as number) + bend * (u[i] as number) ** 2;
    bounds.u[k] = u[i] as number;
    bounds.lowUs[k] = Math.max(afterUs[i] as number, before) - base;
    bounds.highUs[k] = Math.min(untilUs[i] as number, after) - base;
  }
  return bounds;
}

/** Least cost over levels for one slope, and the level; the cost is convex in the level. */
function costOfSlope({ u, lowUs, highUs }: Bounds, slope: number, level: number): { cost: number; level: number } {
  let at = level;
  let cost = 0;
  let [low, high] = [-Infinity, Infinity];
  for (let step = 0; step < LEVEL_STEPS; step++) {
    let [pull, stiff] = [0, 0];
    cost = 0;
    for (let k = 0; k < u.length; k++) {
      const y = at + slope * (u[k] as number);
      const violation = Math.max(0, y - (highUs[k] as number)) - Math.max(0, (lowUs[k] as number) - y);
      if (violation === 0) continue;
      const bounded = Math.max(-3 * NOISE_US, Math.min(3 * NOISE_US, violation));
      cost += bounded * (2 * violation - bounded);
      pull += bounded;
      if (bounded === violation) stiff++;
    }
    if (Math.abs(pull) < (1e-3 * NOISE_US * u.length) / INDEPENDENT) break;
    if (pull > 0) high = at;
    else low = at;
    let next = at - pull / Math.max(1, stiff);
    if (!(next > low && next < high))
      next = Number.isFinite(low + high) ? (low + high) / 2 : at - Math.sign(pull) * 4 * NOISE_US;
    if (Math.abs(next - at) < 0.5) break;
    at = next;
  }
  return { cost, level: at };
}

/** Parts per million away from the first, ascending. */
function offsetsPpm(): number[] {
  const out = [0];
  for (let ppm = RATE_STEP_PPM, step = RATE_STEP_PPM; ppm < RATE_FURTHEST_PPM; step *= RATE_GROWTH, ppm += step)
    out.push(ppm);
  return [
    ...out
      .slice(1)
      .map((ppm) => -ppm)
      .reverse(),
    ...out,
  ];
}

/** Rate and its error from what order allows; the bend is the line's own. @param halfS half the capture, seconds */
export function rateFromBounds(
  bounds: Bounds,
  lines: Lines,
  place: number,
  halfS: number,
): OwnRate & { levelUs: number } {
  const [level, slope] = [lines[3 * place] as number, lines[3 * place + 1] as number];
  const share = Math.min(1, INDEPENDENT / Math.max(1, bounds.u.length));
  const tried = offsetsPpm().map((ppm) => ({ ppm, ...costOfSlope(bounds, slope + ppm * halfS, level) }));
  const least = Math.min(...tried.map(({ cost }) => cost));
  let [mass, first, second, levels] = [0, 0, 0, 0];
  for (const [i, { ppm, cost, level: own }] of tried.entries()) {
    const [left, right] = [tried[Math.max(0, i - 1)], tried[Math.min(tried.length - 1, i + 1)]];
    const width = ((right as { ppm: number }).ppm - (left as { ppm: number }).ppm) / 2;
    const weight = width * Math.exp((-share * (cost - least)) / (2 * NOISE_US ** 2));
    mass += weight;
    first += weight * ppm;
    second += weight * ppm * ppm;
    levels += weight * own;
  }
  const mean = first / mass;
  const se = Math.sqrt(Math.max(0, second / mass - mean * mean));
  return { ppm: -(slope / halfS + mean), se, bend: 0, bendSe: Infinity, levelUs: levels / mass };
}
