/**
 * What bounds an answer: it never goes beyond it and now and then goes along it, at different heights, while more is asked for. Neither scale need be
 * known: the bound is a multiple of the limit, found as the multiple that is touched most of all that are (nearly) never exceeded. Chance by circular shifts of the limit, each with a multiple of its own; false discovery over all pairs (Benjamini and Hochberg 1995).
 */
import { onGrid } from '../../fields/same-value/pairs.ts';
import { quantile } from '../../kit/statistics/order.ts';
import { benjaminiHochberg } from '../../kit/statistics/false-discovery.ts';
import { normalBelow } from '../../kit/statistics/distributions.ts';
import { togetherOf } from './gathers.ts';
import { restOf, sizeOf, type Prepared } from './prepared.ts';
import { roughnessOf } from './roughness.ts';
import type { Told } from './told.ts';

const STEP_US = 100_000;
const POINTS_MOST = 6000;
/** The greatest of many multiples has a heavier tail than a normal's, so the bar is lower than elsewhere. */
const CLAIM_Q = 0.001;
/** Below this share of its farthest a number is not asked for much: nothing bounds it there. */
const ACTS = 0.15;
/** Rounding and readings that are not of one moment: a limit moves on between two frames. */
const NEAR = 0.012;
const NEAR_MOST = 0.05;
const EXCEEDS_MOST = 0.005;
/** While it is touched more must be asked for than is done: else two courses have met by chance. */
const MORE_ASKED = 1.05;
const HELD_LEAST = 0.6;
/** Share of the answers to what is asked for that are no greater, for as much, than those that nothing holds back. */
const FREE_SHARE = 0.9;
/** What touches nearly always is a copy. */
const TOUCHES_MOST = 0.7;
/** What rises and falls with the size of the other comes of it. */
const ALIKE_MOST = 0.6;
/** It is heard by so many points later at most. */
const LATE_MOST = 3;
const TIMES_LEAST = 3;
const LEVELS_LEAST = 2;
/** Levels differ by so much; the commonest one alone says nothing. */
const LEVEL = 0.03;
/** To go along it takes so many points at least: less is a crossing. */
const ALONG_POINTS = 3;
const SHIFTS = 100;
const SHIFT_LEAST_US = 4_000_000;
/** Multiples are told apart in steps of this share. */
const BIN = 0.0025;
const HEIGHTS = 1024;

export interface Bound {
  readonly limit: Prepared;
  readonly bounded: Prepared;
  /** Times that the bounded went along the limit away from its usual height, and the different heights. */
  readonly times: number;
  readonly levels: number;
  readonly seconds: number;
  /** Share of the instants of some size at which it is exceeded. */
  readonly exceeds: number;
  /** Bounded, from where it rests, for one of the limit; raw values. */
  readonly ratio: number;
  /** Bounded instants compared. */
  readonly n: number;
  readonly p: number;
  readonly q: number;
}

/** A bounded number where it is of some size. */
interface Acting {
  readonly field: Prepared;
  /** [n] grid points, and its distance from where it rests. */
  readonly at: readonly number[];
  readonly size: Float64Array;
  /** [n] how far it would go if it did what it is asked for. */
  readonly asked: Float64Array;
  /** Ranks of its size on the coarse grid. */
  readonly levels: Float32Array;
  readonly near: number;
}

const wideOf = ({ near }: Acting): number => Math.ceil(near / BIN);

/** [points] value and height, in steps of a level; which height is the commonest. */
interface Standing {
  readonly field: Prepared;
  readonly course: Float64Array;
  readonly height: Int32Array;
  readonly usual: number;
}

function standingOf(field: Prepared, course: Float64Array): Standing {
  const { greatest } = field.field;
  const heightOf = (value: number): number =>
    Math.min(HEIGHTS - 1, Math.floor(Math.log(greatest / value) / LEVEL + 0.5));
  const height = Int32Array.from(course, (value) => (value > 0 ? heightOf(value) : HEIGHTS - 1));
  return { field, course, height, usual: heightOf(restOf(course)) };
}

function ditherOf({ field: { series } }: Prepared): number {
  const { value } = series;
  const bends = Array.from({ length: Math.max(0, value.length - 2) }, (_, k) =>
    Math.abs((value[k + 2] as number) - 2 * (value[k + 1] as number) + (value[k] as number)),
  );
  const moved = bends.filter((bend) => bend > 0);
  return moved.length > bends.length / 2 ? roughnessOf(Float64Array.from(moved)) : 0;
}

/** [n] what is asked for, in the answer's size: by the greatest that it gives for as much. */
function askedOf(command: Float64Array, late: number, at: readonly number[], size: Float64Array): Float64Array {
  const rest = restOf(command);
  const far = Float64Array.from(at, (k) => Math.abs((command[k - late] ?? Number.NaN) - rest));
  const ratios = far.map((value, i) => (value > 0 ? (size[i] as number) / value : Number.NaN));
  const known = ratios.filter((ratio) => !Number.isNaN(ratio));
  const ratio = known.length > 0 ? quantile(known, FREE_SHARE) : Number.NaN;
  return far.map((value) => value * ratio);
}

function actingOf(
  { leader, follower: field, best }: Told,
  courseOf: (field: Prepared) => Float64Array,
  stepUs: number,
): Acting {
  const course = courseOf(field);
  const rest = restOf(course);
  const far = course.map((value) => Math.abs(value - rest));
  const most = far.reduce((greatest, value) => (value > greatest ? value : greatest), 0);
  const points = Array.from(far.keys());
  const at = points.filter((k) => (far[k] as number) > ACTS * most);
  const size = Float64Array.from(at, (k) => far[k] as number);
  const unsure = 2.5 * ditherOf(field) + field.field.quantum / 2;
  return {
    field,
    at,
    size,
    asked: askedOf(courseOf(leader), Math.round(best.lagUs / stepUs), at, size),
    levels: sizeOf(field).levels,
    near: Math.min(NEAR_MOST, NEAR + unsure / (0.5 * Math.max(most, Number.MIN_VALUE))),
  };
}

interface Touch {
  readonly ratio: number;
  /** The limit is heard so many points late. */
  readonly late: number;
  /** Sum over the heights of the limit, the usual one left out, of the root of the instants at which it is touched: many heights tell more than one for long. */
  readonly score: number;
}

const NONE: Touch = { ratio: 0, late: 0, score: 0 };

/** [at.length] bins of the ratio from its greatest on, and of the limit's height; sorted by the first. */
interface Binned {
  readonly order: Uint32Array;
  readonly ratio: Int32Array;
  readonly height: Int32Array;
  readonly most: number;
  /** Instants at which the limit is zero, and exceeded. */
  readonly zeros: number;
}

function binned({ at, size }: Acting, { course, height }: Standing, shift: number): Binned {
  const points = course.length;
  const [ratio, heights] = [new Int32Array(at.length).fill(-1), new Int32Array(at.length)];
  const value = new Float64Array(at.length);
  let [most, zeros] = [0, 0];
  at.forEach((k, i) => {
    const from = (k + shift + points) % points;
    const limit = course[from] as number;
    heights[i] = height[from] as number;
    value[i] = limit > 0 ? (size[i] as number) / limit : Number.NaN;
    if ((value[i] as number) > most) most = value[i] as number;
    if (limit <= 0) zeros++;
  });
  for (let i = 0; i < at.length; i++)
    if (!Number.isNaN(value[i] as number)) ratio[i] = Math.floor(Math.log(most / (value[i] as number)) / BIN);
  // Plain numbers sort fast: the place is packed behind the bin.
  const keys = Float64Array.from(ratio, (bin, i) => (bin < 0 ? -1 : bin * at.length + i)).sort();
  const first = keys.findIndex((key) => key >= 0);
  return {
    order: Uint32Array.from(first < 0 ? [] : keys.subarray(first), (key) => key % at.length),
    ratio,
    height: heights,
    most,
    zeros,
  };
}

const counts = new Uint32Array(HEIGHTS);

/** The multiple that is touched most of those that are hardly exceeded. shift: the limit is read so many points later, in a circle. */
function touchedAt(acting: Acting, standing: Standing, shift: number): Omit<Touch, 'late'> {
  const { order, ratio, height, most, zeros } = binned(acting, standing, shift);
  const wide = wideOf(acting);
  counts.fill(0);
  let [score, next, first] = [0, 0, 0];
  let best = { bin: wide, score: 0 };
  const change = (i: number, by: number): void => {
    const here = height[i] as number;
    if (here === standing.usual) return;
    const before = counts[here] as number;
    counts[here] = before + by;
    score += Math.sqrt(before + by) - Math.sqrt(before);
  };
  const last = order.length > 0 ? (ratio[order[order.length - 1] as number] as number) : 0;
  for (let low = 0; low <= last && first + zeros <= EXCEEDS_MOST * order.length; low++) {
    while (next < order.length && (ratio[order[next] as number] as number) <= low + 2 * wide)
      change(order[next++] as number, 1);
    if (score > best.score) best = { bin: low + wide, score };
    while (first < next && (ratio[order[first] as number] as number) <= low) change(order[first++] as number, -1);
  }
  return { ratio: most * Math.exp(-(best.bin + 0.5) * BIN), score: best.score };
}

function touched(acting: Acting, standing: Standing, shift: number): Touch {
  let best = NONE;
  for (let late = 0; late <= LATE_MOST; late++) {
    const found = touchedAt(acting, standing, shift - late);
    if (found.score > best.score) best = { ...found, late };
  }
  return best;
}

/** Runs of instants that touch, and the heights that they touch at. */
function timesOf(acting: Acting, { course, height, usual }: Standing, { ratio, late }: Touch) {
  const { at, size, asked } = acting;
  const near = (wideOf(acting) + 0.5) * BIN;
  let [times, touching, exceeding, telling, held, run, last] = [0, 0, 0, 0, 0, 0, Number.NEGATIVE_INFINITY];
  const levels = new Set<number>();
  at.forEach((k, i) => {
    const from = k - late;
    const off = Math.log((size[i] as number) / (ratio * (course[from] as number)));
    if (off > near) exceeding++;
    if (!(Math.abs(off) <= near)) return;
    touching++;
    if (height[from] === usual) return;
    telling++;
    if (!((asked[i] as number) > MORE_ASKED * (size[i] as number))) return;
    held++;
    run = k - last === 1 ? run + 1 : 1;
    if (run === ALONG_POINTS) times++;
    last = k;
    levels.add(height[from] as number);
  });
  return {
    times,
    levels: levels.size,
    touching,
    heldShare: held / Math.max(1, telling),
    exceeds: exceeding / Math.max(1, at.length),
  };
}

function chanceOf(acting: Acting, standing: Standing, score: number): number {
  const points = standing.course.length;
  const least = Math.ceil(SHIFT_LEAST_US / STEP_US);
  const every = Math.max(1, Math.floor((points - 2 * least) / SHIFTS));
  const scores: number[] = [];
  for (let shift = least; shift < points - least; shift += every) scores.push(touched(acting, standing, shift).score);
  if (scores.length < 20) return 1;
  const mean = scores.reduce((sum, one) => sum + one, 0) / scores.length;
  const spread = Math.sqrt(scores.reduce((sum, one) => sum + (one - mean) ** 2, 0) / scores.length);
  return Math.min(1, normalBelow((mean - score) / Math.max(spread, 1)));
}

function boundOf(acting: Acting, standing: Standing, stepUs: number): Omit<Bound, 'q'> | null {
  if (acting.field === standing.field || acting.at.length < 50) return null;
  if (togetherOf(acting.levels, standing.field.levels) > ALIKE_MOST) return null;
  const touch = touched(acting, standing, 0);
  if (touch.score === 0) return null;
  const { times, levels, touching, exceeds, heldShare } = timesOf(acting, standing, touch);
  if (heldShare < HELD_LEAST) return null;
  if (times < TIMES_LEAST || levels < LEVELS_LEAST || touching > TOUCHES_MOST * acting.at.length) return null;
  return {
    limit: standing.field,
    bounded: acting.field,
    times,
    levels,
    seconds: (touching * stepUs) / 1e6,
    exceeds,
    ratio: touch.ratio,
    n: acting.at.length,
    p: chanceOf(acting, standing, touch.score),
  };
}

/** answers: what answers what, so that it shows where it is held back. */
export function boundsOf(numbers: readonly Prepared[], answers: readonly Told[], lengthUs: number): Bound[] {
  const stepUs = Math.max(STEP_US, lengthUs / POINTS_MOST);
  const points = Math.ceil(lengthUs / stepUs) + 1;
  const courses = new Map(numbers.map((field) => [field, onGrid(field.field, stepUs, points)]));
  const standing = numbers
    .filter(({ field }) => field.least >= 0)
    .map((field) => standingOf(field, courses.get(field) as Float64Array));
  const acting = answers.map((told) => actingOf(told, (field) => courses.get(field) as Float64Array, stepUs));
  const tried = acting.flatMap((one) => standing.map((other) => boundOf(one, other, stepUs)));
  const q = benjaminiHochberg(tried.map((one) => one?.p ?? 1));
  return tried
    .flatMap((one, k) => (one && (q[k] as number) <= CLAIM_Q ? [{ ...one, q: q[k] as number }] : []))
    .sort((a, b) => a.p - b.p);
}
