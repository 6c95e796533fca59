/**
 * What no controller can produce, told as early as it is known: tags that hang on a secret key, and exchanges that look like pairing. In both cases the
 * partner module stays in use, together with its key.
 */
import { frameKey } from '../../map/identifiers.ts';
import { keyedTagsOf } from '../../map/keyed-tags.ts';
import type { MapFrame } from '../../map/schema.ts';
import type { CaptureObservations, SeenPairing, SeenUnlock } from './observe/types.ts';
import type { FrameKey } from './types.ts';

export interface CannotBeProduced {
  readonly kind: 'keyed-tag' | 'pairing' | 'unlock';
  readonly frames: readonly FrameKey[];
  /** Who must be kept, as a person is told; empty where nobody knows. */
  readonly senders: readonly string[];
  /** For a person, with figures. */
  readonly says: string;
}

type Framed = FrameKey & Pick<MapFrame, 'checksums'> & { readonly sender?: MapFrame['sender'] };

const senderOf = ({ sender }: Framed): string | null => (sender ? sender.name || `sender ${sender.group}` : null);
const keyOf = ({ bus, id, extended }: FrameKey): FrameKey => ({ bus, id, extended });

function pairingOf(
  { challenge, response, wakings, of, bitsDiffering, bits, delayMs }: SeenPairing,
  frames: readonly Framed[],
): CannotBeProduced {
  const sender = (key: FrameKey): string | null => {
    const found = frames.find((frame) => frameKey(frame) === frameKey(key));
    return found ? senderOf(found) : null;
  };
  const senders = [challenge, response].map(sender);
  const who = (id: string, at: number): string => senders[at] ?? `the sender of ${id}`;
  const share = `${Math.round(100 * bitsDiffering)} of 100 bits differ from waking to waking (${bits} compared), as random ones do`;
  return {
    kind: 'pairing',
    frames: [keyOf(challenge), keyOf(response)],
    senders: [...new Set(senders.filter((name) => name !== null))],
    says: `${challenge.id} and ${response.id} look like a pairing exchange: after ${wakings} of ${of} wakings one came and the other ${delayMs.toPrecision(2)} ms later, and ${share}. It cannot be replayed. Keep ${who(challenge.id, 0)} and ${who(response.id, 1)} together, with the key of the vehicle.`,
  };
}

const unlockOf = ({ bus, asks, answers, extended, times }: SeenUnlock): CannotBeProduced => ({
  kind: 'unlock',
  frames: [{ bus, id: answers, extended }],
  senders: [],
  says: `The module that answers at ${answers} was unlocked by ${asks} ${times === 1 ? 'once' : `${times} times`} (service 27, security access of ISO 14229-1): what the tester then did needs a key of the maker, and no controller can repeat it. Sending in use may do without it.`,
});

/**
 * @param frames of a map, or what `fields` found, with `sender` where it is known
 * @param observations of captures, where there are any: keyed tags need none
 */
export function cannotBeProduced(
  frames: readonly Framed[],
  observations: readonly Pick<CaptureObservations, 'pairings' | 'unlocks'>[] = [],
): CannotBeProduced[] {
  const keyed = keyedTagsOf(
    frames.map((frame) => ({ ...keyOf(frame), checksums: frame.checksums, sender: senderOf(frame) })),
    'Keep',
  );
  const pairings = observations.flatMap((each) => each.pairings);
  const once = new Map(pairings.map((pair) => [`${frameKey(pair.challenge)} ${frameKey(pair.response)}`, pair]));
  return [
    ...(keyed ? [{ kind: 'keyed-tag' as const, frames: keyed.frames, senders: keyed.senders, says: keyed.says }] : []),
    ...[...once.values()].map((pair) => pairingOf(pair, frames)),
    ...observations.flatMap(({ unlocks }) => unlocks.map(unlockOf)),
  ];
}
