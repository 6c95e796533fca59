/** The story that is told: which of the sequences, its steps with what is known of their fields, and the step that is held. */
import { useMemo } from 'react';
import type { FieldStep, LinkReport, Sequence, SequenceStep } from '../../../../actions/types.ts';
import type { Dossier } from '../../../../jobs/dossier.ts';
import type { Survey } from '../../../../timing/types.ts';
import { isSameField } from '../../../pictures/bands-words.ts';
import { storyOf, type FieldKnown, type Story } from '../../../pictures/story-model.ts';
import { useLinks, useRulerMarks, useSurvey } from '../../../stores/asking.ts';
import { useSequences } from '../../../stores/asking-meaning.ts';
import type { Finding } from '../../../stores/finding.ts';
import { useDossier } from '../../../stores/dossier.ts';
import { useView } from '../../../stores/view.ts';
import { sameFrame } from '../../payloads/decisions.ts';
import { signalAt } from '../../signals/dossier-signals.ts';
import { useMarksPlace } from '../store.ts';

/** Names of raw values as the marks tell them, by the report of links. */
function markedStates(links: LinkReport | null, step: FieldStep): Record<string, string> {
  const link = (links?.actions ?? [])
    .flatMap((action) => action.links)
    .find((one) => one.states && isSameField(one, step));
  return Object.fromEntries((link?.states ?? []).map(({ raw, value }) => [String(raw), value]));
}

const knownBy =
  (dossier: Dossier, survey: Survey | null, links: LinkReport | null) =>
  (step: SequenceStep): FieldKnown => {
    const signal = step.kind === 'field' ? signalAt(dossier, step) : undefined;
    const group = survey?.frames.find((frame) => sameFrame(frame, step))?.group ?? null;
    return {
      group,
      sender: survey?.groups.find((one) => one.group === group)?.name ?? '',
      name: signal?.name ?? null,
      states: signal?.states ?? {},
      marked: step.kind === 'field' ? markedStates(links, step) : {},
    };
  };

const isSure = ({ steps }: Sequence): boolean => steps.some(({ q }) => q !== null);

/** The one asked for; else the held action's; else the surest that has most steps. */
function choose(all: readonly Sequence[], wanted: string | null, action: string | null): Sequence | null {
  const asked = all.find(({ name }) => name === wanted);
  if (asked) return asked;
  const own = all.filter(({ event }) => event === action);
  const from = own.length > 0 ? own : all;
  return from.find(isSure) ?? from[0] ?? null;
}

export interface StoryTold {
  readonly finding: Finding<readonly Sequence[]>;
  readonly clockKnown: boolean;
  /** In the order of the tracks. */
  readonly all: readonly Sequence[];
  readonly story: Story | null;
}

export function useStory(): StoryTold {
  const below = useMarksPlace((state) => state.below);
  const wanted = useMarksPlace((state) => state.story);
  const finding = useSequences(below === 'story');
  const action = useView(({ selection }) => selection.action);
  const { actions, clockKnown } = useRulerMarks();
  const dossier = useDossier((state) => state.dossier);
  const survey = useSurvey().value;
  const links = useLinks().value;
  const all = useMemo(
    () => [...(finding.value ?? [])].sort((a, b) => actions.indexOf(a.event) - actions.indexOf(b.event)),
    [finding.value, actions],
  );
  const chosen = choose(finding.value ?? [], wanted, action);
  const story = useMemo(
    () => (chosen ? storyOf(chosen, knownBy(dossier, survey, links)) : null),
    [chosen, dossier, survey, links],
  );
  return { finding, clockKnown, all, story };
}
