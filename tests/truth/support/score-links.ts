/** Scores links and fits: whether a field stands directly behind an action, downstream of it, or has nothing to do with it. */
import type { ActionName } from '../../../src/demo/script.ts';
import { respondersOf } from '../../../src/demo/responders.ts';
import type { QuantityName } from '../../../src/demo/quantities.ts';
import { bitPositions, type Placement } from '../../../src/frames/bits.ts';
import { keyOf, type ObservedSignal } from './observed.ts';

export interface FoundLink extends Placement {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export type Standing = 'direct' | 'downstream' | 'unrelated';

/** True signals that share moved bits with a found field, most shared bits first. */
export function signalsBehind(found: FoundLink, observed: readonly ObservedSignal[]): ObservedSignal[] {
  const bits = new Set(bitPositions(found));
  const shared = (signal: ObservedSignal): number => signal.moved.filter((at) => bits.has(at)).length;
  return observed
    .filter((signal) => keyOf(signal) === keyOf(found) && shared(signal) > 0)
    .sort((a, b) => shared(b) - shared(a));
}

/** A field counts as direct when any quantity it holds is. */
export function standingOf(found: FoundLink, action: ActionName, observed: readonly ObservedSignal[]): Standing {
  const { direct, downstream } = respondersOf(action);
  const quantities = signalsBehind(found, observed).map(({ quantity }) => quantity);
  const among = (names: readonly QuantityName[]): boolean =>
    quantities.some((name) => name !== null && names.includes(name));
  return among(direct) ? 'direct' : among(downstream) ? 'downstream' : 'unrelated';
}

/** 1 for the first; null where no direct responder is among the links. Links strongest first. */
export function rankOfDirect(
  links: readonly FoundLink[],
  action: ActionName,
  observed: readonly ObservedSignal[],
): number | null {
  const place = links.findIndex((link) => standingOf(link, action, observed) === 'direct');
  return place < 0 ? null : place + 1;
}
