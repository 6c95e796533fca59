/**
 * The survey's sender groups as the dossier has them: letters that were given before are kept, names that a person gave are put
 * in, and identifiers that a person moved stand where they were put. What timing said of a moved one is kept beside it in words:
 * a disagreement is shown, never settled by a finder.
 */
import { displayId } from '../../kit/units.ts';
import type { Survey, SurveyFrame, SurveyGroup } from '../types.ts';
import { keepLetters, knownBuses, type KnownSender, type SenderMember } from './keep-letters.ts';

/** An identifier put into a group by a person; null: into none. */
export interface SenderMove extends SenderMember {
  readonly group: string | null;
}

/** What a person decided about senders, and the letters given so far; the dossier has it in this shape. */
export interface SenderHand {
  readonly senders: readonly KnownSender[];
  readonly senderMoves: readonly SenderMove[];
}

const sameIdentifier = (a: SenderMember, b: SenderMember): boolean =>
  a.bus === b.bus && a.id === b.id && a.extended === b.extended;

function handWords(frame: SurveyFrame, to: string | null): string {
  const put = to === null ? 'Taken out of every group by hand' : `Put into ${to} by hand`;
  const { group, groupConfidence, groupWhy } = frame;
  if (group === to && to !== null) return `${put}; timing agrees: ${groupWhy}`;
  if (group === null)
    return to === null ? `${put}; timing says no more: ${groupWhy}` : `${put}; timing cannot tell: ${groupWhy}`;
  return `${put}; timing disagrees: it says ${group} with a confidence of ${(groupConfidence ?? 0).toFixed(2)}: ${groupWhy}`;
}

/** A person's word is taken as said: confidence 1, and told apart by `byHand`. */
function moved(frame: SurveyFrame, to: string | null): SurveyFrame {
  return {
    ...frame,
    group: to,
    groupConfidence: to === null ? null : 1,
    groupWhy: handWords(frame, to),
    byHand: { timingGroup: frame.group, timingConfidence: frame.groupConfidence },
  };
}

const memberOf = ({ bus, id, extended, groupConfidence }: SurveyFrame): SurveyGroup['members'][number] => ({
  bus,
  id,
  extended,
  confidence: groupConfidence ?? 0,
});

/** Groups with their members as moved; those that only a person made come last. */
function regrouped(groups: readonly SurveyGroup[], frames: readonly SurveyFrame[], hand: SenderHand): SurveyGroup[] {
  const made = [...new Set(frames.flatMap(({ byHand, group }) => (byHand && group !== null ? [group] : [])))];
  const blank = (group: string): SurveyGroup => ({
    group,
    ids: [],
    skewPpm: null,
    members: [],
    why: 'put together by hand',
  });
  const all = [
    ...groups,
    ...made
      .filter((letter) => !groups.some(({ group }) => group === letter))
      .sort()
      .map(blank),
  ];
  return all.flatMap((group) => {
    const own = frames.filter((frame) => frame.direction === 'received' && frame.group === group.group);
    const before = (frame: SurveyFrame): number => group.members.findIndex((member) => sameIdentifier(member, frame));
    const place = (frame: SurveyFrame): number => (before(frame) < 0 ? Infinity : before(frame));
    const members = [...own].sort((a, b) => place(a) - place(b) || 0).map(memberOf);
    const byHand = own.filter((frame) => frame.byHand && before(frame) < 0).length;
    const left = group.members.length - (members.length - byHand);
    const changes = [byHand ? `${byHand} put here by hand` : '', left ? `${left} taken out by hand` : ''].filter(
      Boolean,
    );
    const name = hand.senders.find((sender) => sender.group === group.group)?.name.trim();
    if (members.length === 0) return [];
    return [
      {
        ...group,
        ids: members.map(({ id }) => id),
        members,
        why: changes.length && group.members.length ? `${group.why}; ${changes.join(', ')}` : group.why,
        ...(name ? { name } : {}),
      },
    ];
  });
}

/**
 * @returns the survey with kept letters, names and moves. Pure: the same survey and dossier give the same, and a survey that
 *   nothing is known about is only given its letters.
 */
export function settleSenders(survey: Survey, hand: SenderHand): Survey {
  const { letters } = keepLetters(survey.groups, hand.senders);
  const letterOf = (group: string | null): string | null => (group === null ? null : (letters.get(group) ?? group));
  const busOf = knownBuses(
    survey.groups.flatMap(({ members }) => members),
    hand.senders,
  );
  const moveOf = new Map(hand.senderMoves.map(({ bus, id, extended, group }) => [`${bus}/${id}/${extended}`, group]));
  const frames = survey.frames.map((frame): SurveyFrame => {
    const named = { ...frame, group: letterOf(frame.group) };
    if (frame.direction !== 'received') return named;
    const to = moveOf.get(`${busOf(frame.bus)}/${frame.id}/${frame.extended}`);
    return to === undefined ? named : moved(named, to);
  });
  const groups = survey.groups.map((group) => ({ ...group, group: letterOf(group.group) as string }));
  return { ...survey, frames, groups: regrouped(groups, frames, hand) };
}

/** An identifier that a person put where timing does not see it. */
export interface Disagreement {
  readonly key: string;
  /** As people read it. */
  readonly id: string;
  readonly hand: string | null;
  readonly timing: string;
}

/** In the order of the survey; where timing cannot tell it does not disagree. */
export const disagreements = (survey: Survey): readonly Disagreement[] =>
  survey.frames.flatMap(({ byHand, group, bus, id, extended }) =>
    byHand && byHand.timingGroup !== null && byHand.timingGroup !== group
      ? [
          {
            key: `${bus}/${id}/${extended}`,
            id: displayId(Number(id), extended),
            hand: group,
            timing: byHand.timingGroup,
          },
        ]
      : [],
  );
