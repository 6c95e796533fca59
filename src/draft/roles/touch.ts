/** How an answer goes along one line over a number that may limit it: where it lies on the line, at how many heights, and how often beyond. */
import type { Prepared } from './prepared.ts';

/** Rounding, and readings that are not of one moment: a limit moves on between two frames. */
const NEAR = 0.02;
/** Of a time in which it falls short it goes along the limit for so long, and for so much of all such time. */
const ALONG_RUN = 0.7;
/** Share of all that is done that lies beyond it. */
const EXCEEDS_MOST = 0.01;
/** So much more than along the limit, for so many points, tells that it was higher then: a height like those that it was met at. */
const ABOVE = 1.06;
/** Heights of a limit that are told apart over its range, and points that it takes at one. */
const HEIGHTS = 25;
const HEIGHT_POINTS = 3;

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
  /** [m] those of the n that fall short, and [runs] how many of them each time has. */
  readonly short: Int32Array;
  readonly ofRun: Uint32Array;
  /** Least that it shows where it is stopped, less than zero: where a command never goes as far as that. */
  readonly low: number;
  /** Raw values that readings differ by. */
  readonly unsure: number;
}

/** What may be a limit. */
export interface Standing {
  readonly field: Prepared;
  /** [points] */
  readonly course: Float64Array;
  readonly least: number;
  readonly range: number;
}

/** Neither scale nor zero of the limit is known: no more is done than a multiple of it and so much besides. */
export interface Line {
  readonly ratio: number;
  readonly offset: number;
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

export const NO_TOUCH: Touch = {
  ...{ ratio: Number.NaN, offset: 0, late: 0, times: 0, levels: 0, along: 0, above: 0, share: 0, exceeds: 1, score: 0 },
};

const counts = new Uint32Array(HEIGHTS);
const scratch = { near: new Int32Array(0), ofRun: new Uint32Array(0) };

/** Points that fall short and lie on the line, into `scratch.near`, and how many each time has. @returns how many */
function nearOn({ done, run, runs, short, unsure }: Acting, limit: Float64Array, { ratio, offset }: Line): number {
  if (scratch.near.length < short.length) scratch.near = new Int32Array(2 * short.length);
  if (scratch.ofRun.length < runs) scratch.ofRun = new Uint32Array(2 * runs);
  const { near, ofRun } = scratch;
  ofRun.fill(0, 0, runs);
  let n = 0;
  for (let k = 0; k < short.length; k++) {
    const i = short[k] as number;
    const is = done[i] as number;
    const off = is - ratio * (limit[i] as number) - offset;
    if (!(Math.abs(off) <= NEAR * is + unsure)) continue;
    near[n++] = i;
    ofRun[run[i] as number]!++;
  }
  return n;
}

/** Share of all points that lie beyond the line; null where it is too large. */
function exceedsOf({ done, at, unsure }: Acting, limit: Float64Array, { ratio, offset }: Line): number | null {
  const most = EXCEEDS_MOST * at.length;
  let exceeding = 0;
  for (let i = 0; i < at.length; i++) {
    const is = done[i] as number;
    const off = is - ratio * (limit[i] as number) - offset;
    if (off > 2 * (NEAR * is + unsure) && ++exceeding > most) return null;
  }
  return exceeding / Math.max(1, at.length);
}

/**
 * Along this multiple of the limit; null where it is exceeded, or scores no higher than `than`. What lies beyond is asked for last: most lines
 * have next to nothing on them, and those are far fewer points to look at.
 */
export function touchAt(
  acting: Acting,
  limit: Float64Array,
  { least, range }: Standing,
  line: Line,
  than: number,
): Omit<Touch, 'late'> | null {
  const { done, run, runs, short, ofRun, unsure } = acting;
  const n = nearOn(acting, limit, line);
  const { near, ofRun: nearOfRun } = scratch;
  const goesAlong = (k: number): boolean =>
    (nearOfRun[k] as number) > 0 && (nearOfRun[k] as number) >= ALONG_RUN * (ofRun[k] as number);
  let [score, levels, along, above, top] = [0, 0, 0, 0, 0];
  counts.fill(0);
  for (let k = 0; k < n; k++) {
    const i = near[k] as number;
    if (!goesAlong(run[i] as number)) continue;
    along++;
    top = Math.max(top, done[i] as number);
    const height = Math.min(HEIGHTS - 1, Math.floor((HEIGHTS * ((limit[i] as number) - least)) / range));
    const before = counts[height] as number;
    counts[height] = before + 1;
    score += Math.sqrt(before + 1) - Math.sqrt(before);
    if (before + 1 === HEIGHT_POINTS) levels++;
  }
  if (!(score > than)) return null;
  const exceeds = exceedsOf(acting, limit, line);
  if (exceeds === null) return null;
  let times = 0;
  for (let k = 0; k < runs; k++) if (goesAlong(k)) times++;
  for (const value of done) if (value > ABOVE * top + unsure) above++;
  return { ...line, times, levels, along, above, share: along / Math.max(1, short.length), exceeds, score };
}
