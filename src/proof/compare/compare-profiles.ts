/**
 * What differs between two captures: identifiers only in one, changed periods, payload bytes that stopped or began to
 * move, order after a waking, error frames. With a module unplugged in the second this gives what it sent and what reacts to its absence.
 */
import type { Problem } from '../../kit/outcome.ts';
import { findAbsent } from './absent.ts';
import { compareAppearance } from './appearance.ts';
import { burstsAtRest, changedPayload, isUsedAlike } from './byte-changes.ts';
import { compareErrors } from './errors.ts';
import { frameOf, pairUp, type Pairing } from './pairing.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import { changedPeriod } from './reactions.ts';
import type { CompareOptions, Comparison, LoneFrame } from './types.ts';

/** One capture longer than the other by this factor is worth a word. */
const MUCH_LONGER = 5;
/** Fewer shared identifiers than this share: another vehicle, or other buses. */
const SHARED_LEAST = 0.2;

/** How many frames the other capture would hold at the same rate; null for a single frame. */
function expectedIn({ count, firstS, lastS }: IdentifierProfile, other: ComparisonProfile): number | null {
  const spanS = lastS - firstS;
  return spanS > 0 ? Number((((count - 1) / spanS) * other.durationS).toPrecision(3)) : null;
}

const listed = (identifier: IdentifierProfile, other: ComparisonProfile): LoneFrame => ({
  ...frameOf(identifier),
  count: identifier.count,
  expected: expectedIn(identifier, other),
});

function lengthWarnings(a: ComparisonProfile, b: ComparisonProfile): Problem[] {
  const [longer, shorter] = a.durationS >= b.durationS ? [a, b] : [b, a];
  if (shorter.durationS * MUCH_LONGER >= longer.durationS) return [];
  const times = Math.round(longer.durationS / shorter.durationS);
  return [
    {
      code: 'captures-of-unequal-length',
      message:
        shorter.durationS > 0
          ? `one capture is ${times} times as long as the other.`
          : 'one capture is a moment only, the other has a duration.',
      advice: 'Rare frames may be missing from the shorter one for that reason alone: see `expected`.',
    },
  ];
}

function useWarnings({ pairs }: Pairing): Problem[] {
  if (isUsedAlike(pairs)) return [];
  const { due, resting } = burstsAtRest(pairs);
  return [
    {
      code: 'captures-of-unequal-use',
      message: `of ${due} payload bytes that move in bursts in the first capture, ${resting} rest throughout the second: the vehicle was used otherwise, such as not driven.`,
      advice: 'Bytes that became constant then say nothing by that alone: those are marked as not steady.',
    },
  ];
}

function overlapWarnings(a: ComparisonProfile, b: ComparisonProfile, { pairs, buses }: Pairing): Problem[] {
  const fewer = Math.min(a.identifiers.length, b.identifiers.length);
  const warnings: Problem[] = [];
  if (fewer > 0 && pairs.length < SHARED_LEAST * fewer) {
    warnings.push({
      code: 'captures-share-little',
      message: `only ${pairs.length} of ${fewer} identifiers are in both captures.`,
      advice: 'See whether both are of the same vehicle and of the same buses; --bus-map says which bus is which.',
    });
  }
  const alone = [...buses].filter(([, other]) => other === null).map(([bus]) => bus);
  if (pairs.length > 0 && alone.length > 0) {
    warnings.push({
      code: 'bus-without-partner',
      message: `${alone.join(', ')} of the first capture shares no identifier with any bus of the second.`,
      advice:
        'If that bus was not recorded, leave its identifiers out of account; if it was, say which it is with --bus-map.',
    });
  }
  return warnings;
}

/** Pure: what two profiles say. Cost: pairs of identifiers, and some thousand instants of each capture. */
export function compareProfiles(a: ComparisonProfile, b: ComparisonProfile, options: CompareOptions = {}): Comparison {
  const pairing = pairUp(a, b, options.busMap);
  return {
    buses: Object.fromEntries(pairing.buses),
    onlyInA: pairing.onlyInA.map((identifier) => listed(identifier, b)),
    onlyInB: pairing.onlyInB.map((identifier) => listed(identifier, a)),
    timingChanged: pairing.pairs.flatMap((pair) => {
      const changed = changedPeriod(pair);
      return changed ? [{ ...frameOf(pair.a), ...changed }] : [];
    }),
    payloadChanged: pairing.pairs.flatMap(changedPayload),
    appearance: compareAppearance(a, b, pairing),
    errors: compareErrors(a, b, pairing.buses),
    absent: findAbsent(a, b, pairing),
    warnings: [...lengthWarnings(a, b), ...useWarnings(pairing), ...overlapWarnings(a, b, pairing)],
  };
}
