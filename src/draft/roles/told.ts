/**
 * What may be said of pairs that were judged: q over all pairs of different senders (Benjamini and Hochberg 1995), a lag only where its interval
 * leaves out zero and it is longer than refresh and jitter, and whether the follower has a memory, is a copy, or neither for sure.
 */
import { benjaminiHochberg } from '../../kit/statistics/false-discovery.ts';
import type { Judged } from './follows.ts';

import type { FollowWay } from './types.ts';

const TOLD_Q = 0.05;
/** A memory must leave less open than any pure delay by this factor in 39 of 40 draws: sampling alone makes some percent. */
const MEMORY_GAIN = 1.2;
/** Residuals of a copy are of the size of what dithers in both, and of what the value does while it waits for the next frame. */
const COPY_RESIDUAL = 2;
/** A dither so much above what is passed on is the follower's own: it measures. */
const OWN_DITHER = 1.5;

/** What a refresh is known to is no better than this share of it. */
const TELLING_LEAST = 0.3;

export interface Told extends Judged {
  readonly q: number;
  readonly way: FollowWay;
}

const hasMemory = ({ spread }: Judged): boolean => spread.gain[0] >= MEMORY_GAIN && spread.constantUs[0] > 0;

/** The leader is quiet where the follower dithers: no two sensors of one thing, but something set and something measured. */
const measures = ({ copyResidualSd, dither, ditherPassedOn }: Judged): boolean =>
  Math.min(dither, copyResidualSd) > OWN_DITHER * ditherPassedOn;

const isExact = ({ copyResidualSd, dither, ditherPassedOn, missed, whileWaiting }: Judged): boolean =>
  copyResidualSd <= COPY_RESIDUAL * Math.hypot(dither, ditherPassedOn, missed, whileWaiting);

function wayOf(judged: Judged): FollowWay {
  if (hasMemory(judged) || measures(judged)) return 'memory';
  return isExact(judged) ? 'copy' : 'untold';
}

/**
 * A lag beyond zero is enough for what is set and then measured, and for a copy: neither can come before its source is on the bus. Two that both
 * dither may be sensors of one thing, read and sent up to a refresh apart. jitterUs: of the slower of the two frames.
 */
function isLater(judged: Judged, jitterUs: number): boolean {
  const { best, spread, tellingUs } = judged;
  if (spread.lagUs[0] <= 0 || best.lagUs < TELLING_LEAST * tellingUs) return false;
  return measures(judged) || wayOf(judged) === 'copy' || best.lagUs > tellingUs + jitterUs;
}

/** pairs: of different senders, those included that no closer look was taken at. */
export function toldOf(judged: readonly Judged[], pairs: number, jitterUsOf: (judged: Judged) => number): Told[] {
  const p = Float64Array.from({ length: Math.max(pairs, judged.length) }, (_, k) => judged[k]?.p ?? 1);
  const q = benjaminiHochberg(p);
  return judged
    .map((one, k) => ({ ...one, q: q[k] as number, way: wayOf(one) }))
    .filter((one) => one.q <= TOLD_Q && isLater(one, jitterUsOf(one)));
}
