/**
 * What to take along besides the part, while it still hangs in its vehicle. That keyed tags need their partners follows from what they are (AUTOSAR,
 * Specification of Secure Onboard Communication: both ends hold one key; from memory); keys and plugs with tails: common practice, no source.
 */
import type { FrameFindings } from '../../fields/types.ts';
import type { Survey } from '../../timing/types.ts';
import type { TakeAlong } from './types.ts';

type Known = Pick<Survey, 'frames' | 'groups'>;

function partnersOf(findings: readonly FrameFindings[], { frames, groups }: Known): TakeAlong[] {
  const tagged = findings.filter(({ checksums }) => checksums.some(({ method }) => method === 'mac'));
  if (tagged.length === 0) return [];
  const groupOf = ({ bus, id, extended }: FrameFindings): string | null =>
    frames.find((row) => row.bus === bus && row.id === id && row.extended === extended)?.group ?? null;
  const letters = [...new Set(tagged.map(groupOf))].filter((group) => group !== null).sort();
  const named = letters.map((letter) => groups.find(({ group }) => group === letter)?.name || `sender ${letter}`);
  const ids = tagged.map(({ id }) => id);
  const who =
    named.length > 0 ? `${named.join(', ')} and whoever checks them` : 'their senders and whoever checks them';
  return [
    {
      kind: 'partner-modules',
      groups: letters,
      frames: tagged.map(({ bus, id, extended }) => ({ bus, id, extended })),
      says: `${ids.join(', ')} ${ids.length === 1 ? 'carries a keyed tag' : 'carry keyed tags'}: only modules that were taught the same key can send or check ${ids.length === 1 ? 'it' : 'them'}. Take ${who}.`,
    },
  ];
}

/** @param findings null where no fields were looked for: whether tags are keyed is then not known */
export function takeAlong(findings: readonly FrameFindings[] | null, survey: Known): readonly TakeAlong[] {
  const senders = survey.groups.length;
  const each = senders > 1 ? `of each of the ${senders} modules heard here that you may need` : 'of the part';
  return [
    ...partnersOf(findings ?? [], survey),
    { kind: 'keys', says: 'Take every key that belongs to the vehicle: the immobiliser lets no other in.' },
    {
      kind: 'plugs',
      says: `Take the plugs ${each}, cut with 20 cm of loom or more: counterparts are hard to buy, and wire colours say which pin was which.`,
    },
  ];
}
