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
/** Residuals of a copy are of the size of what dithers in both. */
const COPY_RESIDUAL = 2;
/** A dither so much above what is passed on is the follower's own: it measures. */
const OWN_DITHER = 2;

export interface Told extends Judged {
  readonly q: number;
  readonly way: FollowWay;
}

function hasMemory({ spread }: Judged): boolean {
  return spread.gain[0] >= MEMORY_GAIN && spread.constantUs[0] > 0;
}

const isExact = ({ copyResidualSd, dither, ditherPassedOn, missed }: Judged): boolean =>
  copyResidualSd <= COPY_RESIDUAL * Math.hypot(dither, ditherPassedOn, missed);

const measures = ({ copyResidualSd, dither, ditherPassedOn, missed }: Judged): boolean =>
  Math.min(dither, copyResidualSd) > OWN_DITHER * Math.hypot(ditherPassedOn, missed);

function wayOf(judged: Judged): FollowWay {
  if (hasMemory(judged)) return 'memory';
  if (!isExact(judged)) return 'untold';
  return measures(judged) ? 'memory' : 'copy';
}

/** jitterUs: of the slower of the two frames. */
function isLater({ best, spread, tellingUs }: Judged, jitterUs: number): boolean {
  return spread.lagUs[0] > 0 && best.lagUs > tellingUs + jitterUs;
}

/** pairs: of different senders, those included that no closer look was taken at. */
export function toldOf(judged: readonly Judged[], pairs: number, jitterUsOf: (judged: Judged) => number): Told[] {
  const p = Float64Array.from({ length: Math.max(pairs, judged.length) }, (_, k) => judged[k]?.p ?? 1);
  const q = benjaminiHochberg(p);
  return judged
    .map((one, k) => ({ ...one, q: q[k] as number, way: wayOf(one) }))
    .filter((one) => one.q <= TOLD_Q && isLater(one, jitterUsOf(one)));
}
