/**
 * What to take along besides the part, while it still hangs in its vehicle: partners of keyed tags (`map/keyed-tags.ts`), keys, plugs with tails
 * (common practice, no source).
 */
import type { FrameFindings } from '../../fields/types.ts';
import type { Survey } from '../../timing/types.ts';
import { isKeyed, keyedTagsOf } from '../../map/keyed-tags.ts';
import type { TakeAlong } from './types.ts';

type Known = Pick<Survey, 'frames' | 'groups'>;

function partnersOf(findings: readonly FrameFindings[], { frames, groups }: Known): TakeAlong[] {
  const groupOf = ({ bus, id, extended }: FrameFindings): string | null =>
    frames.find((row) => row.bus === bus && row.id === id && row.extended === extended)?.group ?? null;
  const tagged = findings.filter(isKeyed).map((found) => ({ ...found, group: groupOf(found) }));
  const letters = [...new Set(tagged.map(({ group }) => group))].filter((group) => group !== null).sort();
  const nameOf = (letter: string): string => groups.find(({ group }) => group === letter)?.name || `sender ${letter}`;
  const inOrder = [...tagged].sort((a, b) => letters.indexOf(a.group ?? '') - letters.indexOf(b.group ?? ''));
  const keyed = keyedTagsOf(
    inOrder.map((found) => ({ ...found, sender: found.group === null ? null : nameOf(found.group) })),
    'Take',
  );
  if (!keyed) return [];
  const { frames: all, untold, says } = keyed;
  return [{ kind: 'partner-modules', groups: letters, frames: all, ...(untold.length > 0 ? { untold } : {}), says }];
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
