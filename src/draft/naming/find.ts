/**
 * Candidate meanings of each field, ranked by points for and against. The share said of the first is what such points were worth on simulated
 * vehicles of two makers (`tests/truth/roles.test.ts` prints it); the others share what is left by their points. Nothing is applied by itself.
 */
import type { Prepared } from '../roles/prepared.ts';
import { MEANINGS, type Meaning } from './meanings.ts';
import { traitsOf, type Traits, type TraitsInput } from './traits.ts';
import type { FieldNaming, NamingCandidate, NamingReport } from './types.ts';

/** Less than this says nothing. */
const POINTS_LEAST = 3;
const SHOWN_MOST = 3;
/** Share right, by how far the first is ahead of the second in points; measured, and cut. */
const SHARES: readonly (readonly [ahead: number, share: number])[] = [
  [4, 0.8],
  [2, 0.7],
  [1, 0.55],
  [0, 0.4],
];

interface Weighed {
  readonly meaning: Meaning;
  readonly points: number;
  readonly reasons: readonly string[];
}

function weigh(meaning: Meaning, traits: Traits): Weighed {
  const holding = meaning.rules.filter(({ when }) => when(traits));
  return {
    meaning,
    points: holding.reduce((sum, { points }) => sum + points, 0),
    reasons: holding.filter(({ points }) => points > 0).map(({ words }) => words(traits)),
  };
}

const shareAhead = (ahead: number): number => SHARES.find(([least]) => ahead >= least)?.[1] ?? 0;

function candidatesFor(traits: Traits): NamingCandidate[] {
  const fitting = MEANINGS.map((meaning) => weigh(meaning, traits))
    .filter(({ points }) => points >= POINTS_LEAST)
    .sort((a, b) => b.points - a.points)
    .slice(0, SHOWN_MOST);
  const [first, second] = fitting;
  if (!first) return [];
  const share = shareAhead(first.points - (second?.points ?? POINTS_LEAST - 1));
  const rest = fitting.slice(1).reduce((sum, { points }) => sum + points, 0);
  return fitting.map(({ meaning, points, reasons }, rank) => ({
    meaning: meaning.meaning,
    unit: meaning.unit,
    share: rank === 0 ? share : Math.min(share, ((1 - share) * points) / (rest + POINTS_LEAST)),
    reasons,
  }));
}

function namingOf(field: Prepared, traits: Traits): FieldNaming {
  const candidates = candidatesFor(traits);
  const [first] = candidates;
  const why = first
    ? `${first.meaning}? ${first.reasons.join('; ')}`
    : 'nothing that is looked for fits: an action that moves it, or a reference, would tell more';
  return { ...field.place, candidates, why };
}

/** Deterministic. Fields that never change are left out: nothing speaks for them. */
export function nameFields(input: TraitsInput): NamingReport {
  return { fields: [...traitsOf(input)].map(([field, traits]) => namingOf(field, traits)) };
}
