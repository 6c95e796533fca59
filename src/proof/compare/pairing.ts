/** Which identifier of the one capture is which of the other, once the buses are matched. */
import { matchBuses } from '../buses.ts';
import type { ComparisonProfile, IdentifierProfile } from './profile-types.ts';
import type { ComparedFrame } from './types.ts';

export interface Pair {
  readonly a: IdentifierProfile;
  readonly b: IdentifierProfile;
}

export interface Pairing {
  /** Bus of the first -> bus of the second; null where it has no partner. */
  readonly buses: ReadonlyMap<string, string | null>;
  readonly pairs: readonly Pair[];
  readonly onlyInA: readonly IdentifierProfile[];
  readonly onlyInB: readonly IdentifierProfile[];
}

export const keyText = ({ bus, id, extended }: ComparedFrame): string => `${bus}/${id}${extended ? 'x' : ''}`;
export const frameOf = ({ bus, id, extended }: ComparedFrame): ComparedFrame => ({ bus, id, extended });

function identifiersByBus(profile: ComparisonProfile): Map<string, Set<string>> {
  const buses = new Map(profile.buses.map(({ name }) => [name, new Set<string>()]));
  for (const { bus, id, extended } of profile.identifiers) buses.get(bus)?.add(`${id}${extended ? 'x' : ''}`);
  return buses;
}

export function pairUp(
  a: ComparisonProfile,
  b: ComparisonProfile,
  told: Readonly<Record<string, string>> = {},
): Pairing {
  const buses = matchBuses(identifiersByBus(a), identifiersByBus(b), told);
  const left = new Map(b.identifiers.map((identifier) => [keyText(identifier), identifier]));
  const pairs: Pair[] = [];
  const onlyInA: IdentifierProfile[] = [];
  for (const identifier of a.identifiers) {
    const key = keyText({ ...identifier, bus: buses.get(identifier.bus) ?? '' });
    const partner = left.get(key);
    if (partner) pairs.push({ a: identifier, b: partner });
    else onlyInA.push(identifier);
    left.delete(key);
  }
  return { buses, pairs, onlyInA, onlyInB: [...left.values()] };
}
