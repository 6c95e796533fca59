/**
 * What bounds an answer: it does what it is asked for or as much as the limit lets it, whichever is less. Where it falls short it goes along the limit at several
 * heights, and where it does not the limit lies above. Neither scale nor zero need be known. Chance by circular shifts of the limit, each with a line of its
 * own; false discovery over all pairs (Benjamini and Hochberg 1995).
 */
import { normalBelow } from '../../kit/statistics/distributions.ts';
import { benjaminiHochberg } from '../../kit/statistics/false-discovery.ts';
import { actingOf, TIMES_LEAST, touchOf } from './along.ts';
import { layOut, shortStepUs } from './asked.ts';
import { courseOf } from './course.ts';
import type { Courses } from './courses.ts';
import type { Led } from './leads.ts';
import type { Prepared } from './prepared.ts';
import type { Acting, Standing } from './touch.ts';

const CLAIM_Q = 0.01;
/** Share of all that falls short that lies along it. */
const ALONG_LEAST = 0.25;
/** Where other things hold it back as well, it must be met so often. */
const TIMES_SOME = 3;
const MOSTLY = 0.8;
/** So many points above what is done along it tell that it was higher then: one more height. */
const ABOVE_POINTS = 10;
const LEVELS_LEAST = 2;
const SHIFTS = 60;
const SHIFT_LEAST_US = 4_000_000;
/** Every so-many-th shift first; whose chance is above this by those is far from a claim, and the others are left out. */
const FEW = 3;
const CHANCE_FEW = 0.1;

export interface Bound {
  readonly limit: Prepared;
  readonly bounded: Prepared;
  /** Times that the bounded went along the limit, and the different heights. */
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

/** Chance of such a score, were the scores by chance normal. */
function chanceBeside(scores: Float64Array, score: number): number {
  const mean = scores.reduce((sum, one) => sum + one, 0) / scores.length;
  const spread = Math.sqrt(scores.reduce((sum, one) => sum + (one - mean) ** 2, 0) / scores.length);
  return normalBelow((mean - score) / Math.max(spread, 1));
}

function chanceOf(acting: Acting, standing: Standing, score: number): number {
  const { points, stepUs } = acting;
  const least = Math.ceil(SHIFT_LEAST_US / stepUs);
  const every = Math.max(1, Math.floor((points - 2 * least) / SHIFTS));
  const shifts: number[] = [];
  for (let shift = least; shift < points - least; shift += every) shifts.push(shift);
  if (shifts.length < SHIFTS / 3) return 1;
  const scores = new Float64Array(shifts.length);
  const scoreWhere = (isAsked: (k: number) => boolean): void =>
    shifts.forEach((shift, k) => {
      if (isAsked(k)) scores[k] = touchOf(acting, standing, shift).score;
    });
  const isFirst = (k: number): boolean => k % FEW === 0;
  scoreWhere(isFirst);
  const roughly = chanceBeside(
    scores.filter((_, k) => isFirst(k)),
    score,
  );
  if (roughly > CHANCE_FEW) return roughly;
  scoreWhere((k) => !isFirst(k));
  return chanceBeside(scores, score);
}

function boundOf(acting: Acting, standing: Standing): Omit<Bound, 'q'> | null {
  const limit = standing.field;
  if (acting.field === limit) return null;
  const touch = touchOf(acting, standing, 0);
  const { times, along, share, exceeds, ratio, offset, score } = touch;
  const isLine = offset !== 0 && offset !== acting.low;
  const levels = touch.levels + Number(touch.above >= ABOVE_POINTS);
  if (times < (share >= MOSTLY ? TIMES_LEAST : TIMES_SOME) || levels < LEVELS_LEAST + Number(isLine)) return null;
  if (share < ALONG_LEAST) return null;
  return {
    limit,
    bounded: acting.field,
    times,
    levels,
    seconds: (along * acting.stepUs) / 1e6,
    exceeds,
    ratio,
    n: acting.at.length,
    p: chanceOf(acting, standing, score),
  };
}

/** What may be held back: by what it is asked for, and how late it comes. */
export interface Loop extends Led {
  readonly field: Prepared;
  /** Raw values of its own. */
  readonly dither: number;
}

/** courses: of one length. */
export function boundsOf(numbers: readonly Prepared[], loops: readonly Loop[], courses: Courses): Bound[] {
  const stepUs = shortStepUs(courses.lengthUs);
  const acting = loops.flatMap(({ leader, led, field, best, dither }): Acting[] => {
    const asked = courses.of(leader, stepUs, best.constantUs);
    const lag = { ...best, goesBySteps: leader.goesBySteps };
    const laid = layOut(asked, courseOf(led.field, stepUs, courses.lengthUs), lag, dither);
    const found = laid && actingOf(field, laid, dither, best.lagUs);
    return found ? [found] : [];
  });
  if (acting.length === 0) return [];
  const limits = numbers.map((field): Standing => {
    const { least, greatest } = field.field;
    return { field, course: courses.of(field, stepUs, 0).value, least, range: greatest - least };
  });
  const tried = acting.flatMap((one) => limits.map((standing) => boundOf(one, standing)));
  const q = benjaminiHochberg(tried.map((one) => one?.p ?? 1));
  return tried
    .flatMap((one, k) => (one && (q[k] as number) <= CLAIM_Q ? [{ ...one, q: q[k] as number }] : []))
    .sort((a, b) => a.p - b.p);
}
