/**
 * Asks the captures that are open who is needed by the part, the one with a module unplugged by its role among them, and publishes the plan: at
 * once from the map alone, and again as answers come in.
 */
import { useEffect, useMemo } from 'react';
import { keepAlivePlan } from '../../../../handover/needs/plan.ts';
import type { AbsenceSeen } from '../../../../handover/needs/absences.ts';
import type { CaptureObservations } from '../../../../handover/needs/observe/types.ts';
import { absenceSeen } from '../../../../jobs/absence-seen.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { plural } from '../../../../kit/sheet-figures.ts';
import { useComparisonOf } from '../../../comparison/asking.ts';
import { partNamed } from '../../../comparison/fates.ts';
import { isUnplugged } from '../../../comparison/store.ts';
import { useCaptures } from '../../../stores/captures.ts';
import { useDossier } from '../../../stores/dossier.ts';
import { useFindings } from '../../../stores/findings.ts';
import { useView } from '../../../stores/view.ts';
import { usePlanned } from './planned.ts';
import { askNext, questionOf, sourcesOf, toldBy, type Question } from './sources.ts';

/** By the text of what it is made from, so that naming a signal asks nothing anew. */
let known: { text: string; question: Question } | null = null;
function steadyQuestion(map: SignalMap): Question {
  const text = JSON.stringify(map.frames.map(({ bus, id, extended, sender }) => [bus, id, extended, sender?.group]));
  if (known?.text !== text) known = { text, question: questionOf(map) };
  return known.question;
}

interface Answers {
  /** By capture, the open one first. */
  readonly observations: readonly CaptureObservations[];
  readonly waits: string;
}

/** One capture after the other, and others than the open one only while nothing else is being worked out: a person waits for that first. */
function useObservations(map: SignalMap, calm: boolean): Answers {
  const captures = useDossier(({ dossier }) => dossier.captures);
  const rates = useDossier(({ dossier }) => dossier.rates);
  const open = useCaptures((state) => state.open);
  const currentId = useView((view) => view.captureId);
  const slots = useFindings((state) => state.slots);
  const sources = useMemo(() => sourcesOf(captures, open, currentId), [captures, open, currentId]);
  const question = useMemo(() => steadyQuestion(map), [map]);
  const told = sources.map((source) => toldBy(source, rates, question, slots));
  const next = told.indexOf('open');
  useEffect(() => {
    const source = sources[next];
    if (source && (calm || source.entry.id === currentId)) askNext(source, rates, question, slots);
  }, [sources, next, calm, currentId, rates, question, slots]);
  const observations = steadyObservations(told.filter((one) => typeof one !== 'string'));
  const left = told.filter((one) => one === 'open').length;
  return { observations, waits: left > 0 ? `${told.length - left} of ${plural(told.length, 'capture')}` : '' };
}

let before: readonly CaptureObservations[] = [];
/** The same array as long as it holds the same things: a plan is not made anew for nothing. */
function steadyObservations(values: readonly CaptureObservations[]): readonly CaptureObservations[] {
  const isSame = values.length === before.length && values.every((value, at) => value === before[at]);
  if (!isSame) before = values;
  return before;
}

/** What the capture with a module unplugged says, held against the open one. */
function useAbsence(observations: readonly CaptureObservations[]): AbsenceSeen | null {
  const captures = useDossier(({ dossier }) => dossier.captures);
  const currentId = useView((view) => view.captureId);
  const without = captures.find((capture) => isUnplugged(capture) && capture.id !== currentId);
  const side = (id: string | null | undefined) => (id ? { captureId: id, span: null } : null);
  const own = observations.find(({ capture }) => capture === without?.id);
  // Last of all: it was asked who is needed in it, so nothing more urgent is being worked out.
  const { comparison, b } = useComparisonOf(side(currentId), side(without?.id), own !== undefined);
  const lastsS = b.profile?.durationS;
  const role = without?.role || without?.title;
  return useMemo(
    () =>
      comparison && own && lastsS !== undefined && role
        ? absenceSeen({ name: partNamed(role), lastsS, comparison, observations: own })
        : null,
    [comparison, own, lastsS, role],
  );
}

export function AskPlan({ map, calm }: { map: SignalMap; calm: boolean }): null {
  const { observations, waits } = useObservations(map, calm);
  const absence = useAbsence(observations);
  const captures = useDossier(({ dossier }) => dossier.captures);
  const plan = useMemo(() => {
    const missing = new Set(captures.filter(isUnplugged).map(({ id }) => id));
    const whole = observations.filter(({ capture }) => !missing.has(capture));
    return keepAlivePlan(map, whole, absence ? [absence] : []);
  }, [map, observations, absence, captures]);
  useEffect(() => usePlanned.setState({ plan, waits }), [plan, waits]);
  return null;
}
