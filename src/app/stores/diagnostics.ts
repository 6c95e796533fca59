/** Who asks whom in the capture that is open. */
import { useMemo } from 'react';
import type { DiagnosticsAnswer } from '../../jobs/analyses/diagnostics.ts';
import type { Engine } from '../../jobs/engine-types.ts';
import type { Control } from '../../kit/control.ts';
import { useFinding, type Finding } from './finding.ts';

export function useDiagnostics(): Finding<DiagnosticsAnswer> {
  const run = useMemo(
    () => (engine: Engine, control: Control) => engine.analyse<'diagnostics'>({ job: 'diagnostics' }, control),
    [],
  );
  return useFinding('diagnostics', null, run);
}
