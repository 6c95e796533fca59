/**
 * What may be said of pairs that were judged: q over all pairs of different senders (Benjamini and Hochberg 1995), a lag only where its interval
 * leaves out zero and it is longer than refresh and jitter, and whether the follower has a memory, is a copy, or neither for sure.
 */
import { benjaminiHochberg } from '../../kit/statistics/false-discovery.ts';
import type { Judged } from './judged.ts';
import { setApart } from './of-one-part.ts';
import { leaps, movesByItself } from './own-motion.ts';
import type { FollowWay } from './types.ts';

const TOLD_Q = 0.05;
/** A memory must leave less open than any pure delay by this factor in 39 of 40 draws: sampling alone makes some percent. */
const MEMORY_GAIN = 1.2;
/** Residuals of a copy are of the size of what dithers in both, and of what the value does while it waits for the next frame. */
const COPY_RESIDUAL = 2;
/** A dither so much above what is passed on is the follower's own: it measures. */
const OWN_DITHER = 1.5;

/** What is set dithers by no more than rounding to its own steps makes it, and moves by many of them a second when it moves. */
const QUIET_ROUNDINGS = 3;
const PACE_QUANTA = 5;
/** What a refresh is known to is no better than this share of it. */
const TELLING_LEAST = 0.3;

/** What makes an answer of it: a memory, being held back, moving by itself, a dither of its own, what else the part shows; least of all, not being exact. */
export type Mark = 'memory' | 'held' | 'moves' | 'measured' | 'beside' | 'inexact';

export interface Told extends Judged {
  readonly q: number;
  readonly way: FollowWay;
  /** Of an answer. */
  readonly mark: Mark | null;
}

const hasMemory = ({ spread }: Judged): boolean => spread.gain[0] >= MEMORY_GAIN && spread.constantUs[0] > 0;

/** Nothing dithers in what is set; what moves by single steps alone may be a sensor too coarse to show its noise. */
const isSet = ({ leaderDither, leaderRounding, leaderPace, leader }: Judged): boolean =>
  leaderDither <= QUIET_ROUNDINGS * leaderRounding && leaderPace >= PACE_QUANTA * leader.field.quantum;

/** The leader is quiet where the follower dithers: no two sensors of one thing, but something set and something measured. */
const measures = ({ copyResidualSd, dither, ditherPassedOn }: Judged): boolean =>
  Math.min(dither, copyResidualSd) > OWN_DITHER * ditherPassedOn;

/** However much is excused by dither and by waiting, a copy shows what it copies. */
const R2_COPY = 0.98;

const isExact = ({ sizes, copyResidualSd, dither, ditherPassedOn, missed, whileWaiting }: Judged): boolean =>
  sizes === 'one' && copyResidualSd <= COPY_RESIDUAL * Math.hypot(dither, ditherPassedOn, missed, whileWaiting);

const isBeyondRefresh = ({ best, tellingUs }: Judged, jitterUs: number): boolean => best.lagUs > tellingUs + jitterUs;

/** What glides is like much that glides along: it must explain nearly all where no memory tells an answer. */
const R2_MEASURED = 0.9;
const R2_PLAIN = 0.95;

/** Held back so often, and doing what is asked for else, it is no copy: what says a command again says all of it. */
const SHORT_TIMES = 2;
const R2_FREE = 0.97;
/** Once is enough for a while, where all the rest is as good as exact. */
const SHORT_ONCE_S = 1;
const R2_ONCE = 0.99;
function isHeldBack({ short, best }: Judged): boolean {
  const r2 = 1 - best.unexplained;
  if (short === null) return false;
  return (short.times >= SHORT_TIMES && r2 >= R2_FREE) || (short.seconds >= SHORT_ONCE_S && r2 >= R2_ONCE);
}

/** What is set to values far apart and follows as something that is under way in between, or never quite still. */
const isMoving = ({ leader, own }: Judged): boolean => leader.goesBySteps && movesByItself(own) && leaps(leader);

/** Levels alone go together where both drift: what a command changes by must come back in what answers it. */
const CHANGES_LEAST = 0.4;
const changesAlike = ({ changes, best, sizes }: Judged): boolean =>
  sizes === 'own' || Math.sign(best.scale) * changes >= CHANGES_LEAST;

/** Where no memory tells it, a lag must be known, to about two refreshes: what only drifts along fits about as well at many. */
const KNOWN_TELLINGS = 2;
const KNOWN_LAGS = 0.5;
const isLagKnown = ({ spread, best, tellingUs }: Judged): boolean =>
  spread.lagUs[1] - spread.lagUs[0] <= KNOWN_TELLINGS * tellingUs + KNOWN_LAGS * best.lagUs;

function markOf(judged: Judged): Mark | null {
  if (!changesAlike(judged)) return null;
  if (hasMemory(judged)) return 'memory';
  if (!isLagKnown(judged)) return null;
  if (isHeldBack(judged)) return 'held';
  if (!isSet(judged)) return null;
  const { leader, best } = judged;
  const r2 = 1 - best.unexplained;
  if (measures(judged)) return leader.goesBySteps || r2 >= R2_MEASURED ? 'measured' : null;
  if (isMoving(judged)) return 'moves';
  return !isExact(judged) && (leader.goesBySteps || r2 >= R2_PLAIN) ? 'inexact' : null;
}

const isCopy = (judged: Judged): boolean => isExact(judged) && 1 - judged.openInAll >= R2_COPY && changesAlike(judged);

/**
 * A lag beyond zero is enough behind what is set: nothing can answer it before it is on the bus. Two that both dither may be sensors of one thing, read and sent up to a refresh apart. jitterUs: of the slower of the two frames.
 */
function isLater(judged: Judged, jitterUs: number): boolean {
  const { best, spread, tellingUs } = judged;
  if (spread.lagUs[0] <= 0 || best.lagUs < TELLING_LEAST * tellingUs) return false;
  return isSet(judged) || isBeyondRefresh(judged, jitterUs);
}

/** pairs: of different senders, those included that no closer look was taken at. */
export function toldOf(judged: readonly Judged[], pairs: number, jitterUsOf: (judged: Judged) => number): Told[] {
  const p = Float64Array.from({ length: Math.max(pairs, judged.length) }, (_, k) => judged[k]?.p ?? 1);
  const q = benjaminiHochberg(p);
  const told = judged
    .map((one, k): Told => {
      const mark = markOf(one);
      return { ...one, q: q[k] as number, mark, way: mark ? 'answer' : isCopy(one) ? 'copy' : 'untold' };
    })
    .filter((one) => one.q <= TOLD_Q && isLater(one, jitterUsOf(one)));
  return setApart(told);
}
