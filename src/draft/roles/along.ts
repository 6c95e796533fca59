/**
 * Where an answer goes along another number while it falls short of what is asked for: the line, through zero or with a zero of its own, that most of
 * what falls short lies on and that hardly anything that is done lies beyond.
 */
import { evenly } from '../../fields/same-value/pairs.ts';
import { median, quantile } from '../../kit/statistics/order.ts';
import { runsShort, sideAt, type Laid } from './asked.ts';
import type { Prepared } from './prepared.ts';

/** Rounding, and readings that are not of one moment: a limit moves on between two frames. */
const NEAR = 0.02;
const DITHERS = 2.5;
/** It is heard by so much later at most. */
const LATE_MOST_US = 300_000;
/** Of a time in which it falls short it goes along the limit for so long, and for so much of all such time. */
const ALONG_RUN = 0.7;
/** Share of all that is done that lies beyond it. */
const EXCEEDS_MOST = 0.01;
/** Below this share of its farthest it is stopped, not limited. */
const STOPPED = 0.05;
/** Share of the time in which it is at its least. */
const LOW = 0.01;
/** A time of falling short lasts so long, besides the lag. */
const LASTS_US = 250_000;
/** So many times where nearly all that falls short lies along it, and so many where other things hold it back as well. */
export const TIMES_LEAST = 2;
/** So much more than along the limit, for so many points, tells that it was higher then: a height like those that it was met at. */
const ABOVE = 1.06;
/** Heights of a limit that are told apart over its range, and points that it takes at one. */
const HEIGHTS = 25;
const HEIGHT_POINTS = 3;
const PIECES_MOST = 16;
const PAIRS_MOST = 40;
/** Two heights tell a line where they lie so far apart, of all its range. */
const APART = 0.08;

/** An answer where it is of some size and falls short, and its greatest size where it does not. */
export interface Acting {
  readonly field: Prepared;
  readonly stepUs: number;
  readonly points: number;
  /** [n] grid points, and its size there. */
  readonly at: Int32Array;
  readonly done: Float64Array;
  /** [n] which time of falling short; -1: it does what it is asked for. */
  readonly run: Int32Array;
  readonly runs: number;
  /** Least that it shows where it is stopped, less than zero: where a command never goes as far as that. */
  readonly low: number;
  /** Raw values that readings differ by. */
  readonly unsure: number;
}

export function actingOf(field: Prepared, laid: Laid, dither: number, lagUs: number): Acting | null {
  const { stepUs, done, most } = laid;
  const size = done.map((value, k) => sideAt(laid, k) * value);
  const isOn = (k: number): boolean => (size[k] as number) > STOPPED * most;
  const short = runsShort(laid, Math.ceil((LASTS_US + lagUs) / stepUs));
  const limited = short.filter(([from, to]) => size.subarray(from, to).some((value) => value > STOPPED * most));
  if (limited.length < TIMES_LEAST) return null;
  const known = size.filter((value) => !Number.isNaN(value));
  const inRun = new Int32Array(done.length).fill(-1);
  limited.forEach(([from, to], index) => inRun.fill(index, from, to));
  const at = Int32Array.from(done.keys()).filter(isOn);
  return {
    field,
    stepUs,
    points: done.length,
    at,
    done: Float64Array.from(at, (k) => size[k] as number),
    run: Int32Array.from(at, (k) => inRun[k] as number),
    runs: limited.length,
    low: Math.min(0, quantile(known, LOW)),
    unsure: DITHERS * dither + field.field.quantum,
  };
}

/** [n] the limit at the answer's instants, so many points earlier, in a circle. */
const readLimit = ({ at, points }: Acting, limit: Float64Array, late: number): Float64Array =>
  Float64Array.from(at, (k) => limit[(((k - late) % points) + points) % points] as number);

/** Neither scale nor zero of the limit is known: no more is done than a multiple of it and so much besides. */
interface Line {
  readonly ratio: number;
  readonly offset: number;
}

interface Piece {
  readonly done: number;
  readonly limit: number;
}

/** Middle of each third of each time of falling short, as a limit may move meanwhile. */
function piecesOf({ run, done, runs }: Acting, limit: Float64Array): Piece[] {
  const rows = Array.from({ length: runs }, (): number[] => []);
  run.forEach((here, i) => {
    if (here >= 0 && !Number.isNaN(limit[i] as number)) (rows[here] as number[]).push(i);
  });
  const thirds = rows.flatMap((own) =>
    [0, 1, 2].map((k) => own.slice((k * own.length) / 3, ((k + 1) * own.length) / 3)),
  );
  const middle = (values: Float64Array, own: readonly number[]): number => median(own.map((i) => values[i] as number));
  return thirds.filter((own) => own.length > 0).map((own) => ({ done: middle(done, own), limit: middle(limit, own) }));
}

/** Through zero, or where the answer is least, and each of some pieces, and through some pairs of pieces at different heights. */
function linesOf(pieces: readonly Piece[], range: number, low: number): Line[] {
  const some = [...evenly(pieces.length, PIECES_MOST)].map((k) => pieces[k] as Piece);
  const plain = some
    .filter(({ limit }) => limit > 0)
    .flatMap(({ done, limit }) => [...new Set([0, low])].map((offset) => ({ ratio: (done - offset) / limit, offset })));
  const pairs = some.flatMap((a, i) =>
    some
      .slice(i + 1)
      .filter((b) => Math.abs(a.limit - b.limit) > APART * range)
      .map((b): Line => {
        const ratio = (a.done - b.done) / (a.limit - b.limit);
        return { ratio, offset: a.done - ratio * a.limit };
      }),
  );
  const rising = pairs.filter(({ ratio }) => ratio > 0);
  return [...plain, ...[...evenly(rising.length, PAIRS_MOST)].map((k) => rising[k] as Line)];
}

export interface Touch extends Line {
  readonly late: number;
  /** Times along it, and how many heights they are at. */
  readonly times: number;
  readonly levels: number;
  readonly along: number;
  /** Points at which more is done than it ever is along the limit, as that is higher then. */
  readonly above: number;
  /** Of all points that fall short. */
  readonly share: number;
  readonly exceeds: number;
  /** Sum over its heights of the root of the points along it: many heights tell more than one for long. */
  readonly score: number;
}

const NONE: Touch = {
  ...{ ratio: Number.NaN, offset: 0, late: 0, times: 0, levels: 0, along: 0, above: 0, share: 0, exceeds: 1, score: 0 },
};

const counts = new Uint32Array(HEIGHTS);

/** Along this multiple of the limit; null where it is exceeded. */
function touchAt(
  { done, run, runs, at, unsure }: Acting,
  limit: Float64Array,
  { least, range }: Standing,
  { ratio, offset }: Line,
): Omit<Touch, 'late'> | null {
  const exceedsMost = EXCEEDS_MOST * at.length;
  const [n, near] = [new Uint32Array(runs), new Uint32Array(runs)];
  const isNear = new Uint8Array(at.length);
  let [exceeding, short] = [0, 0];
  for (let i = 0; i < at.length; i++) {
    const is = done[i] as number;
    const off = is - ratio * (limit[i] as number) - offset;
    const unsureHere = NEAR * is + unsure;
    if (off > 2 * unsureHere && ++exceeding > exceedsMost) return null;
    const here = run[i] as number;
    if (here < 0) continue;
    short++;
    n[here]!++;
    if (!(Math.abs(off) <= unsureHere)) continue;
    isNear[i] = 1;
    near[here]!++;
  }
  const goesAlong = (k: number): boolean =>
    (near[k] as number) > 0 && (near[k] as number) >= ALONG_RUN * (n[k] as number);
  let [score, levels, along, above, top] = [0, 0, 0, 0, 0];
  counts.fill(0);
  for (let i = 0; i < at.length; i++) {
    if (!isNear[i] || !goesAlong(run[i] as number)) continue;
    along++;
    top = Math.max(top, done[i] as number);
    const height = Math.min(HEIGHTS - 1, Math.floor((HEIGHTS * ((limit[i] as number) - least)) / range));
    const before = counts[height] as number;
    counts[height] = before + 1;
    score += Math.sqrt(before + 1) - Math.sqrt(before);
    if (before + 1 === HEIGHT_POINTS) levels++;
  }
  for (let i = 0; i < at.length; i++) if ((done[i] as number) > ABOVE * top + unsure) above++;
  return {
    ratio,
    offset,
    times: n.reduce((times, _, k) => times + Number(goesAlong(k)), 0),
    levels,
    along,
    above,
    share: along / Math.max(1, short),
    exceeds: exceeding / Math.max(1, at.length),
    score,
  };
}

/** What may be a limit. */
export interface Standing {
  readonly field: Prepared;
  /** [points] */
  readonly course: Float64Array;
  readonly least: number;
  readonly range: number;
}

export function touchOf(acting: Acting, standing: Standing, shift: number): Touch {
  let best = NONE;
  const lateMost = Math.round(LATE_MOST_US / acting.stepUs);
  for (let late = 0; late <= lateMost; late += 2) {
    const limit = readLimit(acting, standing.course, shift + late);
    for (const line of linesOf(piecesOf(acting, limit), standing.range, acting.low)) {
      const touch = touchAt(acting, limit, standing, line);
      if (touch && touch.score > best.score) best = { ...touch, late };
    }
  }
  return best;
}
