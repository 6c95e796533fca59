/** Who asks whom in the capture that is open, and what is left for a search among broadcasts once those are set aside. */
import { useMemo } from 'react';
import { isFrame, type FrameKey } from '../../draft/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { DiagnosticsAnswer } from '../../jobs/analyses/diagnostics.ts';
import type { Engine } from '../../jobs/engine-types.ts';
import type { Control } from '../../kit/control.ts';
import type { DiagnosticsReport } from '../../reference/diagnostics/report.ts';
import { useFinding, type Finding } from './finding.ts';

export function useDiagnostics(): Finding<DiagnosticsAnswer> {
  const run = useMemo(
    () => (engine: Engine, control: Control) => engine.analyse<'diagnostics'>({ job: 'diagnostics' }, control),
    [],
  );
  return useFinding('diagnostics', null, run);
}

/** Frames of a tester and of what answers it. */
export const askedOf = ({ conversations }: Pick<DiagnosticsReport, 'conversations'>): FrameKey[] =>
  conversations.flatMap(({ bus, requests, answers }) =>
    [...requests, ...answers].map(({ id, extended }) => ({ bus, id, extended })),
  );

/** Such frames say nothing by themselves; without any, the very same findings. */
export function broadcastsOf(
  findings: readonly FrameFindings[],
  report: Pick<DiagnosticsReport, 'conversations'>,
): readonly FrameFindings[] {
  const asked = askedOf(report);
  return asked.length === 0 ? findings : findings.filter((each) => !asked.some((key) => isFrame(each, key)));
}
