/**
 * What to take along besides the part, while it still hangs in its vehicle. That keyed tags need their partners follows from what they are (AUTOSAR,
 * Specification of Secure Onboard Communication: both ends hold one key; from memory); keys and plugs with tails: common practice, no source.
 */
import type { FrameFindings } from '../../fields/types.ts';
import type { Survey } from '../../timing/types.ts';
import { namesOf } from './names.ts';
import type { TakeAlong } from './types.ts';

type Known = Pick<Survey, 'frames' | 'groups'>;

function partnersOf(findings: readonly FrameFindings[], { frames, groups }: Known): TakeAlong[] {
  const tagged = findings.filter(({ checksums }) => checksums.some(({ method }) => method === 'mac'));
  if (tagged.length === 0) return [];
  const groupOf = ({ bus, id, extended }: FrameFindings): string | null =>
    frames.find((row) => row.bus === bus && row.id === id && row.extended === extended)?.group ?? null;
  const letters = [...new Set(tagged.map(groupOf))].filter((group) => group !== null).sort();
  const named = letters.map((letter) => {
    const own = tagged.filter((each) => groupOf(each) === letter);
    return `${groups.find(({ group }) => group === letter)?.name || `sender ${letter}`} (${namesOf(own)})`;
  });
  // Whom timing puts into no group still has a sender, and it must not be forgotten.
  const untold = tagged.filter((each) => groupOf(each) === null);
  const others = untold.length > 0 ? [`the sender of ${namesOf(untold)}, which timing does not tell`] : [];
  const [carry, them] = tagged.length === 1 ? ['carries a keyed tag', 'it'] : ['carry keyed tags', 'them'];
  return [
    {
      kind: 'partner-modules',
      groups: letters,
      frames: tagged.map(({ bus, id, extended }) => ({ bus, id, extended })),
      ...(untold.length > 0 ? { untold: untold.map(({ bus, id, extended }) => ({ bus, id, extended })) } : {}),
      says: `${namesOf(tagged)} ${carry}: only modules that were taught the same key can send or check ${them}. Take ${[...named, ...others].join(', ')}, and whoever checks ${them}.`,
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
