/** What places ask of the capture that is open about what things mean: what follows each action. */
import { useMemo } from 'react';
import type { Sequence } from '../../actions/types.ts';
import type { Engine } from '../../jobs/engine-types.ts';
import type { Control } from '../../kit/control.ts';
import { useBroadcasts, useRulerMarks } from './asking.ts';
import { useFinding, type Finding } from './finding.ts';
import { fingerprintOnce } from './findings.ts';

/** Thousandths of a second: a mark that moves by less tells the same story. */
const round = (s: number): number => Math.round(s * 1000) / 1000;

/** What follows each action, once `wanted`; nothing to ask as long as the marks' clock is not known. */
export function useSequences(wanted: boolean): Finding<readonly Sequence[]> {
  const findings = useBroadcasts();
  const { marks, clockKnown } = useRulerMarks();
  const plain = useMemo(
    () =>
      marks.map(({ action, startS, endS, value }) => ({
        action,
        startS: round(startS),
        endS: endS === null ? null : round(endS),
        ...(value ? { value } : {}),
      })),
    [marks],
  );
  const options = useMemo(() => ({ findings: findings && fingerprintOnce(findings), plain }), [findings, plain]);
  const run = useMemo(() => {
    if (!findings || !clockKnown || plain.length === 0 || !wanted) return null;
    return (engine: Engine, control: Control) =>
      engine.analyse<'sequences'>({ job: 'sequences', findings, marks: plain }, control);
  }, [findings, plain, clockKnown, wanted]);
  return useFinding('sequences', options, run);
}
