/**
 * Clocks from order, where stamps step or frames come in batches. Each identifier's ticks lie on a slightly bent line of its clock; no
 * line may contradict the order in which frames came, nor leave the step that a stamp stands for. Every time that two modules pass
 * each other ties their lines together, so that all lines are found at once: least squares of the violations, a convex problem,
 * by Newton's method with steps halved where they overshoot (Boyd and Vandenberghe 2004, chapter 9).
 */
import type { Steps } from '../../frames/pictures/steps.ts';
import type { FollowedClock } from './clock-reading.ts';
import type { BusFrames } from '../bus-frames.ts';
import { solveSymmetric } from './solve-symmetric.ts';
import { quantile, sortedSample } from '../robust.ts';

/** Frames of one bus that are held against the lines. */
export interface OrderedFrames {
  readonly n: number;
  /** [n] place of the stream. */
  readonly place: Int16Array;
  /** [n] time of the tick by the schedule, microseconds, and where in the capture, -1..1. */
  readonly tickUs: Float64Array;
  readonly u: Float64Array;
  /** [n] the step that the stamp stands for, microseconds: after the first, up to the second. */
  readonly afterUs: Float64Array;
  readonly untilUs: Float64Array;
}

/** [3 * streams] level, slope and bend of each line: microseconds of stray at u as level + slope u + bend u^2. */
export type Lines = Float64Array;

/** So many frames tell enough; they are taken in stretches from all over the capture. */
const FRAMES_MOST = 100_000;
const STRETCHES = 64;
const STEPS_MOST = 25;
const HALVED_MOST = 6;
/** A frame later than this is an accident: it pulls no harder, microseconds. */
const ACCIDENT_US = 400;
/** Before anything is seen: rates within so much, and changes of rate, ppm and ppm per 100 s. */
export const RATE_PPM = 60;
export const BEND_PPM = 1.5;
export const NOISE_US = 200;
/** Levels are free; this only keeps the equations regular. */
const LEVEL_RIDGE = 1e-9;
/** Shortest usual distance of two stamps: their step. */
const STEP_SHARE = 0.1;
/** Stamps further apart than so many steps had nothing between them. */
const STEPS_OPEN = 3;
const ON_GRID_SHARE = 0.99;
/** A step that betters the cost by a smaller share is the last. */
const GAIN_LEAST = 1e-5;
/** Frames of one stream, in number, that tell something of their own. */
export const INDEPENDENT = 64;

/** What stamps on a bus step by, and whether they lie on a grid of it. */
function stampSteps(timeUs: Float64Array): { readonly stepUs: number; readonly onGrid: boolean } {
  const apart: number[] = [];
  let onGrid = 0;
  for (let i = 1; i < timeUs.length; i++) {
    const us = (timeUs[i] as number) - (timeUs[i - 1] as number);
    if (us > 0) apart.push(us);
  }
  const stepUs = quantile(sortedSample(Float64Array.from(apart)), STEP_SHARE);
  for (const us of apart) if (Math.abs(us / stepUs - Math.round(us / stepUs)) < 0.01) onGrid++;
  return { stepUs, onGrid: onGrid >= ON_GRID_SHARE * apart.length };
}

/** The frames of one bus whose ticks are known. O(n) */
export function orderFrames(frames: BusFrames, clocks: readonly FollowedClock[], endUs: number): OrderedFrames {
  const placeOf = new Map(clocks.map(({ stream }, place) => [stream.index, place]));
  const { stepUs, onGrid } = stampSteps(frames.timeUs);
  const total = frames.timeUs.length;
  const [share, stretch] = [Math.min(1, FRAMES_MOST / total), Math.ceil(total / STRETCHES)];
  const room = Math.min(total, FRAMES_MOST + STRETCHES);
  const make = (): Float64Array => new Float64Array(room);
  const out = { place: new Int16Array(room), tickUs: make(), u: make(), afterUs: make(), untilUs: make() };
  let n = 0;
  let [stampUs, lastUs] = [-Infinity, -Infinity];
  for (let i = 0; i < total; i++) {
    const us = frames.timeUs[i] as number;
    if (us > stampUs) [lastUs, stampUs] = [stampUs, us];
    const place = placeOf.get(frames.stream[i] as number);
    if (place === undefined || i % stretch >= share * stretch || n >= room) continue;
    const stray = (clocks[place] as FollowedClock).track.strayUs[frames.row[i] as number] as number;
    if (Number.isNaN(stray)) continue;
    out.place[n] = place;
    out.tickUs[n] = us - stray;
    out.u[n] = (2 * us) / endUs - 1;
    out.untilUs[n] = us;
    out.afterUs[n++] = Math.max(lastUs, us - (onGrid ? 1 : STEPS_OPEN) * stepUs);
  }
  return { n, ...out };
}

const lineAt = (lines: Lines, place: number, u: number): number =>
  (lines[3 * place] as number) + (lines[3 * place + 1] as number) * u + (lines[3 * place + 2] as number) * u * u;

/** Times of the frames by their lines. */
export function predicted({ n, place, tickUs, u }: OrderedFrames, lines: Lines): Float64Array {
  const out = new Float64Array(n);
  for (let i = 0; i < n; i++) out[i] = (tickUs[i] as number) + lineAt(lines, place[i] as number, u[i] as number);
  return out;
}

/** Square of a violation, beyond an accident's size growing only linearly; and the weight it pulls with. */
const costOf = (us: number): number => (us <= ACCIDENT_US ? us * us : ACCIDENT_US * (2 * us - ACCIDENT_US));
const pullOf = (us: number): number => (us <= ACCIDENT_US ? 1 : ACCIDENT_US / us);

/** What all frames together make of lines: cost, gradient and curvature, where wanted. */
interface Sums {
  cost: number;
  readonly gradient: Float64Array;
  readonly curvature: Float64Array;
}

/** One violation: of the bound by one line, or of the order by two. */
function addViolation(sums: Sums, us: number, a: number, ua: number, sign: 1 | -1, b = -1, ub = 0): void {
  const { gradient, curvature } = sums;
  const size = gradient.length;
  const pull = pullOf(us);
  const powers = [1, ua, ua * ua];
  const others = [1, ub, ub * ub];
  for (let i = 0; i < 3; i++) {
    const row = 3 * a + i;
    const mine = sign * (powers[i] as number);
    gradient[row] = (gradient[row] as number) + pull * us * mine;
    for (let j = 0; j < 3; j++) {
      const at = row * size + 3 * a + j;
      curvature[at] = (curvature[at] as number) + pull * mine * sign * (powers[j] as number);
    }
    if (b < 0) continue;
    const other = 3 * b + i;
    const theirs = -sign * (others[i] as number);
    gradient[other] = (gradient[other] as number) + pull * us * theirs;
    for (let j = 0; j < 3; j++) {
      const [both, across, back] = [other * size + 3 * b + j, row * size + 3 * b + j, (3 * b + j) * size + row];
      curvature[both] = (curvature[both] as number) + pull * theirs * -sign * (others[j] as number);
      const mixed = pull * mine * -sign * (others[j] as number);
      curvature[across] = (curvature[across] as number) + mixed;
      curvature[back] = (curvature[back] as number) + mixed;
    }
  }
}

/** @param slopes whether gradient and curvature are wanted */
function addFrames(sums: Sums, frames: OrderedFrames, lines: Lines, slopes: boolean): void {
  const { n, place, u, afterUs, untilUs } = frames;
  const us = predicted(frames, lines);
  for (let i = 0; i < n; i++) {
    const [at, own, where] = [us[i] as number, place[i] as number, u[i] as number];
    const over = at - (untilUs[i] as number);
    const under = (afterUs[i] as number) - at;
    if (over > 0) {
      sums.cost += costOf(over);
      if (slopes) addViolation(sums, over, own, where, 1);
    }
    if (under > 0) {
      sums.cost += costOf(under);
      if (slopes) addViolation(sums, under, own, where, -1);
    }
    if (i === 0 || place[i - 1] === own) continue;
    const early = (us[i - 1] as number) - at;
    if (early <= 0) continue;
    sums.cost += costOf(early);
    if (slopes) addViolation(sums, early, place[i - 1] as number, u[i - 1] as number, 1, own, where);
  }
}

/** What is thought of lines before anything is seen: where each of their figures lies, and how stiffly it is held there. */
export interface Expected {
  readonly ridge: Float64Array;
  readonly centre: Float64Array;
}

function sumUp(buses: readonly OrderedFrames[], lines: Lines, { ridge, centre }: Expected, slopes: boolean): Sums {
  const size = lines.length;
  const sums: Sums = {
    cost: 0,
    gradient: new Float64Array(slopes ? size : 0),
    curvature: new Float64Array(slopes ? size * size : 0),
  };
  for (const frames of buses) addFrames(sums, frames, lines, slopes);
  for (let i = 0; i < size; i++) {
    const away = (lines[i] as number) - (centre[i] as number);
    sums.cost += (ridge[i] as number) * away ** 2;
    if (!slopes) continue;
    sums.gradient[i] = (sums.gradient[i] as number) + (ridge[i] as number) * away;
    sums.curvature[i * size + i] = (sums.curvature[i * size + i] as number) + (ridge[i] as number);
  }
  return sums;
}

/** First lines: least squares over the stamps, in the middle of their steps. */
function firstLines(clocks: readonly FollowedClock[], stepUs: number, halfS: number): Lines {
  const lines = new Float64Array(3 * clocks.length);
  for (const [place, { track, skew }] of clocks.entries()) {
    const strays = sortedSample(track.strayUs.slice(track.fromRow, track.toRow));
    lines[3 * place] = quantile(strays, 0.5) - stepUs / 2;
    lines[3 * place + 1] = -skew.leastSquares.ppm * halfS;
  }
  return lines;
}

/** Frames of each stream that share their scatter and their neighbours: they count as one. */
function alikeFrames(buses: readonly OrderedFrames[], streams: number): Float64Array {
  const counts = new Float64Array(streams);
  for (const { n, place } of buses) {
    for (let i = 0; i < n; i++) counts[place[i] as number] = (counts[place[i] as number] as number) + 1;
  }
  return counts.map((count) => Math.max(1, count / INDEPENDENT));
}

/** By Newton's method from `lines` on. */
export function* descend(buses: readonly OrderedFrames[], from: Lines, expected: Expected): Steps<Lines> {
  let lines = from;
  let cost = sumUp(buses, lines, expected, false).cost;
  for (let step = 0; step < STEPS_MOST; step++) {
    const { gradient, curvature } = sumUp(buses, lines, expected, true);
    yield;
    const move = solveSymmetric(curvature, gradient);
    yield;
    let [share, moved, next] = [1, lines, cost];
    for (let halved = 0; halved < HALVED_MOST; halved++, share /= 2) {
      moved = lines.map((value, i) => value - share * (move[i] as number));
      next = sumUp(buses, moved, expected, false).cost;
      yield;
      if (next < cost) break;
    }
    if (!(next < cost)) return lines;
    const gained = cost - next;
    [lines, cost] = [moved, next];
    if (gained < GAIN_LEAST * cost) return lines;
  }
  return lines;
}

/** Rates within RATE_PPM and changes within BEND_PPM, as stiff as the frames of each stream count. */
export function expectedLines(buses: readonly OrderedFrames[], streams: number, halfS: number): Expected {
  const bendUs = (BEND_PPM * halfS ** 2) / 200;
  const each = [LEVEL_RIDGE, (NOISE_US / (RATE_PPM * halfS)) ** 2, (NOISE_US / bendUs) ** 2];
  const alike = alikeFrames(buses, streams);
  const ridge = Float64Array.from(
    { length: 3 * streams },
    (_, i) => (each[i % 3] as number) * (alike[Math.floor(i / 3)] as number),
  );
  return { ridge, centre: new Float64Array(3 * streams) };
}

/**
 * The lines that contradict order and stamps least.
 * Cost: a few dozen passes over at most FRAMES_MOST frames of each bus, and the cube of three times the streams.
 */
export function* fitLines(
  buses: readonly OrderedFrames[],
  clocks: readonly FollowedClock[],
  stepUs: number,
  endUs: number,
): Steps<Lines> {
  const halfS = endUs / 2e6;
  return yield* descend(buses, firstLines(clocks, stepUs, halfS), expectedLines(buses, clocks.length, halfS));
}
