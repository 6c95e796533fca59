/**
 * Senders as the dossier has them, over what the survey of a capture found: letters are kept, names and moves put in. Letters are
 * facts that outlive a capture, so they are noted without a step of their own; names and moves are decisions, with undo.
 */
import { useEffect } from 'react';
import type { Dossier } from '../../jobs/dossier.ts';
import {
  freeLetter,
  keepLetters,
  knownBuses,
  type KnownSender,
  type SenderMember,
} from '../../timing/senders/keep-letters.ts';
import { settleSenders } from '../../timing/senders/settle-senders.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { useDossier } from './dossier.ts';

type Hand = Pick<Dossier, 'senders' | 'senderMoves'>;

const settled = new WeakMap<Survey, { readonly hand: Hand; readonly survey: Survey }>();
/** The same survey and the same decisions give the same object: pictures are not drawn anew for nothing. */
export function settledSurvey(found: Survey, { senders, senderMoves }: Hand): Survey {
  const known = settled.get(found);
  if (known && known.hand.senders === senders && known.hand.senderMoves === senderMoves) return known.survey;
  const survey = settleSenders(found, { senders, senderMoves });
  settled.set(found, { hand: { senders, senderMoves }, survey });
  return survey;
}

const sameMember = (a: SenderMember, b: SenderMember): boolean =>
  a.bus === b.bus && a.id === b.id && a.extended === b.extended;

/** Keeps the letters that the survey of this capture brings; other dossiers among the steps of undo know nothing of it. */
function noteLetters(captureId: string, digests: string, found: Survey): void {
  const { dossier, note } = useDossier.getState();
  const isOurs = (one: Dossier): boolean => digestsOf(one, captureId) === digests;
  if (!isOurs(dossier) || keepLetters(found.groups, dossier.senders).known === dossier.senders) return;
  note((one) => {
    if (!isOurs(one)) return one;
    const { known } = keepLetters(found.groups, one.senders);
    return known === one.senders ? one : { ...one, senders: plainSenders(known) };
  });
}

const digestsOf = (dossier: Dossier, captureId: string): string =>
  (dossier.captures.find(({ id }) => id === captureId)?.files ?? []).map(({ sha256 }) => sha256).join(' ');

const plainSenders = (known: readonly KnownSender[]): Dossier['senders'] =>
  known.map((sender) => ({
    ...sender,
    members: sender.members.map(({ bus, id, extended }) => ({ bus, id, extended })),
  }));

/** Notes the letters of the capture in view as soon as its survey, as it was found, is there. */
export function useNotedLetters(entry: Dossier['captures'][number] | undefined, found: Survey | null): void {
  const id = entry?.id;
  const digests = entry?.files.map(({ sha256 }) => sha256).join(' ');
  useEffect(() => {
    if (id !== undefined && digests && found) noteLetters(id, digests, found);
  }, [id, digests, found]);
}

/** Names a sender; an empty name takes it back. */
export function renameSender(group: string, typed: string): void {
  const name = typed.trim().replace(/\s+/g, ' ');
  const label = name ? `name sender ${group} ${name}` : `take back the name of sender ${group}`;
  useDossier.getState().change(label, (dossier) => {
    const { senders } = dossier;
    if ((senders.find((sender) => sender.group === group)?.name ?? '') === name) return dossier;
    const known = senders.some((sender) => sender.group === group) ? senders : [...senders, blankSender(group)];
    return { ...dossier, senders: known.map((sender) => (sender.group === group ? { ...sender, name } : sender)) };
  });
}

const blankSender = (group: string): KnownSender & Dossier['senders'][number] => ({ group, name: '', members: [] });

/** Where an identifier may be put: a sender's letter, one that does not exist yet, none; or where timing says. */
export type MoveTo = { readonly group: string } | 'new' | 'none' | 'timing';

/** The identifier under the bus names of the dossier: a capture may call its buses otherwise. */
function keyOf(frame: SurveyFrame, survey: Survey, dossier: Dossier): SenderMember {
  const members = survey.groups.flatMap((group) => group.members);
  const busOf = knownBuses(members, dossier.senders);
  return { bus: busOf(frame.bus), id: frame.id, extended: frame.extended };
}

/** Puts an identifier into a group by hand, or takes that back. @returns the letter it has then; null for none */
export function moveIdentifier(frame: SurveyFrame, shownId: string, to: MoveTo, survey: Survey): string | null {
  const { dossier, change } = useDossier.getState();
  const key = keyOf(frame, survey, dossier);
  const taken = [...dossier.senders, ...survey.groups].map(({ group }) => group);
  const letter = to === 'new' ? freeLetter(taken) : to === 'none' ? null : to === 'timing' ? null : to.group;
  const label =
    to === 'timing'
      ? `leave ${shownId} to timing`
      : letter === null
        ? `take ${shownId} out of its group`
        : `move ${shownId} to sender ${letter}`;
  change(label, (before) => {
    const others = before.senderMoves.filter((move) => !sameMember(move, key));
    if (to === 'timing') return { ...before, senderMoves: others };
    const senders =
      letter === null || before.senders.some(({ group }) => group === letter)
        ? before.senders
        : [...before.senders, blankSender(letter)];
    return { ...before, senders, senderMoves: [...others, { ...key, group: letter }] };
  });
  return to === 'timing' ? (frame.byHand?.timingGroup ?? null) : letter;
}
