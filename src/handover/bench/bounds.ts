/**
 * How many trials to reckon with, said before the first one. Each needed frame costs about log2(candidates + 1) trials to find and two to confirm; the
 * constants hold for answers of which up to one in ten is wrong, and were measured on simulated modules (the scorecard `bench`).
 */
import type { BenchCandidate } from './record-schema.ts';

/** Sets that leave frames out are tried so often, where everything does not work. */
export const SUBSETS_MOST = 60;

export interface TrialBounds {
  readonly candidates: number;
  /** By how many frames turn out to be needed jointly, from 0. */
  readonly expectedByNeeded: readonly number[];
  /** For as many needed frames as the plan takes to be likely. */
  readonly expectedTrials: number;
  /** The search ends here, whatever it has found. */
  readonly mostTrials: number;
  /** The same where everything sent does not make the part work, and sets that leave frames out are tried first. */
  readonly mostIfDisturbed: number;
}

/** Everything, nothing, controls and the long watch. */
const AROUND = 10;
const CONFIRMING = 3;
/** Repeats because answers may be wrong. */
const REPEATS = 1.2;
const NEEDED_MOST = 8;
const MOST_OF_EXPECTED = 2;

const expected = (candidates: number, needed: number): number =>
  Math.ceil(AROUND + REPEATS * needed * (Math.log2(candidates + 1) + CONFIRMING));

export function trialBounds(candidates: readonly Pick<BenchCandidate, 'likelihood'>[]): TrialBounds {
  const n = candidates.length;
  const most = Math.min(n, NEEDED_MOST);
  const likely = Math.min(most, Math.round(candidates.reduce((sum, { likelihood }) => sum + likelihood, 0)));
  const mostTrials = MOST_OF_EXPECTED * expected(n, most);
  return {
    candidates: n,
    expectedByNeeded: Array.from({ length: most + 1 }, (_, needed) => expected(n, needed)),
    expectedTrials: expected(n, likely),
    mostTrials,
    mostIfDisturbed: mostTrials + SUBSETS_MOST,
  };
}
