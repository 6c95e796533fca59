/**
 * Error frames of two captures: rates with intervals, and whether the split between the two can be chance. A bus that lost the only
 * other station that acknowledges, or its termination, answers with error frames (ISO 11898-1, 11898-2).
 */
import { normalBelow, normalQuantile } from '../../kit/statistics/distributions.ts';
import type { BusProfile, ComparisonProfile } from './profile-types.ts';
import type { ErrorsCompared, Rate } from './types.ts';

const LEVEL = 0.975;
/** A split of the counts rarer than this is a change. Error frames come in bursts: the limit is stricter than usual. */
const CHANGED_P = 0.001;

/** Bound of a Poisson mean after Wilson and Hilferty 1931: chi-square of 2k degrees by a cubed normal. */
function poissonBound(count: number, z: number): number {
  if (count === 0) return 0;
  return count * Math.max(0, 1 - 1 / (9 * count) + z / (3 * Math.sqrt(count))) ** 3;
}

export function rateOf(count: number, seconds: number): Rate {
  if (!(seconds > 0)) return { perSecond: 0, low: 0, high: 0 };
  const z = normalQuantile(LEVEL);
  return {
    perSecond: count / seconds,
    low: poissonBound(count, -z) / seconds,
    high: poissonBound(count + 1, z) / seconds,
  };
}

/** Two-sided p that `a` of a + b events fall into the share `share` of the time: normal approximation with continuity correction. */
export function splitP(a: number, b: number, share: number): number {
  const n = a + b;
  if (n === 0 || share <= 0 || share >= 1) return 1;
  const off = Math.max(0, Math.abs(a - n * share) - 0.5) / Math.sqrt(n * share * (1 - share));
  return Math.min(1, 2 * (1 - normalBelow(off)));
}

function verdictOf(a: number, b: number, p: number): ErrorsCompared['verdict'] {
  if (p > CHANGED_P) return 'alike';
  if (a === 0) return 'appeared';
  return b === 0 ? 'gone' : 'alike';
}

function compareBus(a: BusProfile, b: BusProfile | undefined, secondsA: number, secondsB: number): ErrorsCompared {
  const [countA, countB] = [a.errors.count, b?.errors.count ?? 0];
  const p = splitP(countA, countB, secondsA / (secondsA + secondsB));
  const [rateA, rateB] = [rateOf(countA, secondsA), rateOf(countB, secondsB)];
  const plain = verdictOf(countA, countB, p);
  const changed = plain === 'alike' && p <= CHANGED_P;
  return {
    bus: a.name,
    perSecondA: rateA.perSecond,
    perSecondB: rateB.perSecond,
    rateA,
    rateB,
    startsS: b?.errors.firstS ?? null,
    p,
    verdict: changed ? (rateB.perSecond > rateA.perSecond ? 'more' : 'fewer') : plain,
  };
}

export function compareErrors(
  a: ComparisonProfile,
  b: ComparisonProfile,
  buses: ReadonlyMap<string, string | null>,
): ErrorsCompared[] {
  return a.buses
    .map((bus) => {
      const partner = b.buses.find(({ name }) => name === buses.get(bus.name));
      return compareBus(bus, partner, a.durationS, b.durationS);
    })
    .filter(({ perSecondA, perSecondB }) => perSecondA > 0 || perSecondB > 0);
}
