/** Who asks whom in the capture that is open, and what is left for a search among broadcasts once those are set aside. */
import { useMemo } from 'react';
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

/** Frames of a tester and of what answers it say nothing by themselves; without any, the very same findings. */
export function broadcastsOf(
  findings: readonly FrameFindings[],
  { conversations }: Pick<DiagnosticsReport, 'conversations'>,
): readonly FrameFindings[] {
  const key = (bus: string, id: number, extended: boolean): string => `${bus} ${id} ${extended}`;
  const spoken = new Set(
    conversations.flatMap(({ bus, requests, answers }) =>
      [...requests, ...answers].map(({ id, extended }) => key(bus, Number(id), extended)),
    ),
  );
  if (spoken.size === 0) return findings;
  return findings.filter(({ bus, id, extended }) => !spoken.has(key(bus, Number(id), extended)));
}
