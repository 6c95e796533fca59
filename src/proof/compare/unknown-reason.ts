/**
 * How often what comes only now and then stays away for a reason that nothing tells: read off the other identifiers of that kind, since
 * two recordings may show quite different days. Empirical Bayes; the identifier that is judged does not count for itself.
 */
import type { Pairing } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import { hasRhythm } from './silence.ts';

/** Occasions in the first capture, and due in the second, before an identifier counts. */
const OCCASIONS_LEAST = 3;
const DUE_LEAST = 2;
/** Fewer occasions than this share of those due: as good as silent. */
const NEARLY_SILENT = 0.1;
const LEAST = 0.05;
const MOST = 0.5;
/** Before any is seen: as if so many had been, and this share of them silent. */
const PRIOR_COUNT = 2;
const PRIOR_SHARE = 0.3;

/** @param own the identifier that is judged @param silentShare of the identifiers with a rhythm, those that are silent: so much of the rest is the missing module's too */
export function unknownReason(
  a: ComparisonProfile,
  b: ComparisonProfile,
  pairing: Pairing,
  own: IdentifierProfile,
  silentShare: number,
): number {
  const length = b.durationS / Math.max(1, a.durationS);
  const counts = ({ present }: IdentifierProfile): boolean =>
    present.length >= OCCASIONS_LEAST && present.length * length >= DUE_LEAST;
  const shared = pairing.pairs.filter((pair) => !hasRhythm(pair.a) && counts(pair.a));
  const rare = shared.filter((pair) => pair.b.present.length < NEARLY_SILENT * pair.a.present.length * length).length;
  const silent = pairing.onlyInA.filter((each) => each !== own && !hasRhythm(each) && counts(each)).length;
  const n = shared.length + silent;
  const excess = Math.max(0, silent - silentShare * n) + rare;
  return Math.min(MOST, Math.max(LEAST, (excess + PRIOR_SHARE * PRIOR_COUNT) / ((1 - silentShare) * n + PRIOR_COUNT)));
}
