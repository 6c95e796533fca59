/** Asks the open capture how each signal of the map went over it, while the report is open: nothing else needs that. */
import { useEffect, useMemo, type ReactNode } from 'react';
import type { ReportTraces } from '../../../../handover/report/traces.ts';
import type { Engine } from '../../../../jobs/engine-types.ts';
import type { Control } from '../../../../kit/control.ts';
import { percent } from '../../../../kit/sheet-figures.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { useCurrentCapture, useFinding } from '../../../stores/finding.ts';
import { fingerprintOnce } from '../../../stores/findings.ts';
import { useExtras } from './extras.ts';

export function AskTraces({ map }: { map: SignalMap }): ReactNode {
  const { frames } = map;
  const title = useCurrentCapture()?.entry.title ?? '';
  const options = useMemo(() => ({ frames: fingerprintOnce(frames), title }), [frames, title]);
  const run = useMemo(
    () => (engine: Engine, control: Control) =>
      engine.analyse<'report-traces'>({ job: 'report-traces', frames, title }, control),
    [frames, title],
  );
  const { value, slot } = useFinding<ReportTraces>('report-traces', options, run);
  useEffect(() => {
    if (value) useExtras.setState({ traces: value });
  }, [value]);
  if (slot?.state !== 'running') return null;
  return (
    <p className="small inferred" role="status">
      Traces for it are being read: {percent(slot.share)}.
    </p>
  );
}
