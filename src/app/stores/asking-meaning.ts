/** What places ask of the capture that is open about what things mean: what follows each action, and the part that each field plays. */
import { useMemo } from 'react';
import type { Sequence } from '../../actions/types.ts';
import type { MeaningReport } from '../../draft/meaning.ts';
import type { Engine } from '../../jobs/engine-types.ts';
import type { Control } from '../../kit/control.ts';
import { SEED, useBroadcasts, useLinks, useRulerMarks, useSurvey } from './asking.ts';
import { useCurrentCapture, useFinding, type Finding } from './finding.ts';
import { fingerprintOnce } from './findings.ts';
import { plainMarks } from './marks-clock.ts';

/** What follows each action, once `wanted`; nothing to ask as long as the marks' clock is not known. */
export function useSequences(wanted: boolean): Finding<readonly Sequence[]> {
  const findings = useBroadcasts();
  const { marks, clockKnown } = useRulerMarks();
  const survey = useSurvey().value;
  const senders = useMemo(
    () => survey?.frames.map(({ bus, id, extended, group }) => ({ bus, id, extended, group })) ?? null,
    [survey],
  );
  const plain = useMemo(() => plainMarks(marks), [marks]);
  const options = useMemo(
    () => ({ findings: findings && fingerprintOnce(findings), plain, senders }),
    [findings, plain, senders],
  );
  const run = useMemo(() => {
    if (!findings || !senders || !clockKnown || plain.length === 0 || !wanted) return null;
    return (engine: Engine, control: Control) =>
      engine.analyse<'sequences'>({ job: 'sequences', findings, marks: plain, senders }, control);
  }, [findings, senders, plain, clockKnown, wanted]);
  return useFinding('sequences', options, run);
}

/** What each field is for, once `wanted`; waits for the links where there are marks, as who was touched tells much of it. */
export function useMeaning(wanted: boolean): Finding<MeaningReport> {
  const findings = useBroadcasts();
  const survey = useSurvey().value;
  const links = useLinks();
  const marked = (useCurrentCapture()?.entry.marks.length ?? 0) > 0;
  const linkState = links.slot?.state;
  const settled = !marked || linkState === 'done' || linkState === 'failed' || linkState === 'stopped';
  const report = marked && linkState === 'done' ? links.value : null;
  const options = useMemo(
    () => ({
      findings: findings && fingerprintOnce(findings),
      senders: survey && fingerprintOnce(survey.frames),
      links: report && fingerprintOnce(report),
    }),
    [findings, survey, report],
  );
  const run = useMemo(() => {
    if (!findings || !survey || !settled || !wanted) return null;
    const { frames } = survey;
    return (engine: Engine, control: Control) =>
      engine.analyse<'meaning'>({ job: 'meaning', findings, survey: { frames }, links: report, seed: SEED }, control);
  }, [findings, survey, settled, report, wanted]);
  return useFinding('meaning', options, run);
}
