/** Modules that sleep while the key is off: a moment after the key is on they send, some seconds after it is off they do so no more. */
import type { Random } from '../../../src/kit/random.ts';
import type { MachineKind } from './kinds.ts';
import type { Awake } from './send.ts';
import type { Doing, TruePresence } from './truth.ts';

/** Behind the last step of a key that is turned off, as a rule. */
export const SLEEPS_AFTER_S = [4.4, 5.2] as const;

export interface Sleeper {
  readonly sender: string;
  readonly awake: readonly Awake[];
  readonly presences: readonly TruePresence[];
}

/** `nature` draws how quick each module is, `happenings` how it came this time. */
export function sleepersOf(
  nature: Random,
  happenings: Random,
  { helper, inverters }: MachineKind,
  keys: readonly Doing[],
): Sleeper[] {
  return [helper, inverters[0] as string].map((sender): Sleeper => {
    const wakesS = nature.between(0.03, 0.12);
    const awake = keys.map(({ startS, endS }) => ({
      fromS: startS + wakesS * happenings.between(1, 1.4),
      toS: endS === null ? Number.POSITIVE_INFINITY : endS + happenings.between(...SLEEPS_AFTER_S),
    }));
    const of = (edge: TruePresence['edge'], happens: TruePresence['happens'], atS: number[]): TruePresence => ({
      ...{ sender, action: 'key', edge, happens },
      atS,
    });
    const slept = awake.map(({ toS }) => toS).filter((toS) => toS !== Number.POSITIVE_INFINITY);
    return {
      sender,
      awake,
      presences: [
        of(
          'start',
          'begins',
          awake.map(({ fromS }) => fromS),
        ),
        of('end', 'falls-silent', slept),
      ],
    };
  });
}
