/**
 * Tags that hang on a secret key. That keyed tags need their partners follows from what they are (AUTOSAR, Specification of Secure Onboard
 * Communication: both ends hold one key; from memory): who has such a frame keeps the module that sends it. Asked of fields just found, of a map,
 * before the part is cut out and before a bench is built: one sentence for all.
 */
import { namesOf } from '../kit/few-names.ts';

/** A bus, an identifier and whether it is of 29 bits. */
interface Key {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export interface TaggedFrame extends Key {
  readonly checksums: readonly { readonly method: string }[];
  /** As a person is told who sends it, "inverter" or "sender B"; null where nobody knows. */
  readonly sender: string | null;
}

export interface KeyedTags {
  readonly frames: readonly Key[];
  /** Those whose sender is not known. */
  readonly untold: readonly Key[];
  /** In the order of their words. */
  readonly senders: readonly string[];
  /** That only partners that were taught the same key can send or check them, and whom to keep. */
  readonly says: string;
}

export const isKeyed = ({ checksums }: Pick<TaggedFrame, 'checksums'>): boolean =>
  checksums.some(({ method }) => method === 'mac');

const keyOf = ({ bus, id, extended }: Key): Key => ({ bus, id, extended });

/** @param verb what the person is told to do with the senders: "Take", "Keep". Null where no tag is keyed. */
export function keyedTagsOf(frames: readonly TaggedFrame[], verb: string): KeyedTags | null {
  const tagged = frames.filter(isKeyed);
  if (tagged.length === 0) return null;
  const senders = [...new Set(tagged.flatMap(({ sender }) => (sender === null ? [] : [sender])))];
  const named = senders.map((sender) => `${sender} (${namesOf(tagged.filter((each) => each.sender === sender))})`);
  const untold = tagged.filter(({ sender }) => sender === null);
  // Whom timing puts into no group still has a sender, and it must not be forgotten.
  const others = untold.length > 0 ? [`the sender of ${namesOf(untold)}, which timing does not tell`] : [];
  const [carry, them] = tagged.length === 1 ? ['carries a keyed tag', 'it'] : ['carry keyed tags', 'them'];
  return {
    frames: tagged.map(keyOf),
    untold: untold.map(keyOf),
    senders,
    says: `${namesOf(tagged)} ${carry}: only modules that were taught the same key can send or check ${them}. ${verb} ${[...named, ...others].join(', ')}, and whoever checks ${them}.`,
  };
}
