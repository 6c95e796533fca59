/** Payloads with nothing to look at: the axes in place, one sentence, one button. */
import { useMemo, type ReactNode } from 'react';
import { layoutWeave } from '../../pictures/weave-layout.ts';
import { GoToCaptures } from '../../shell/GoToCaptures.tsx';
import { useCurrentCapture } from '../../stores/finding.ts';
import type { CapturePhase } from '../../stores/captures.ts';
import { ThreadLabels } from './ThreadLabels.tsx';

/** Why there is nothing to ask of a recording, and what to do; the place shows what it can in every other phase. */
export const NOT_READ: Partial<Record<CapturePhase, string>> = {
  failed: 'This recording could not be read. Captures says why, with the line.',
  stopped: 'Reading was stopped. Captures can go on with it.',
  missing: 'The files of this recording are not in this browser: hand them over again in Captures.',
  unrecorded: 'These marks have no recording yet. Open the recording in Captures, and it is laid under them.',
};

export function Nothing(): ReactNode {
  const current = useCurrentCapture();
  const reading = current?.open.phase === 'reading' || current?.open.phase === 'waiting';
  return (
    <div className="payloads-nothing">
      <EmptyAxes />
      <div className="past-gutter need">
        <p>
          {reading
            ? 'Reading: the first identifiers appear here within a moment.'
            : current
              ? (NOT_READ[current.open.phase] ??
                'There is nothing to look at yet: no frame has been read from this recording.')
              : 'No recording is open. Payloads shows, for one identifier, every bit as a thread over time.'}
        </p>
        {!reading && <GoToCaptures />}
      </div>
    </div>
  );
}

/** The axes in place before there is anything to draw on them. */
function EmptyAxes(): ReactNode {
  const layout = useMemo(() => layoutWeave({ bytes: 8, available: 483, moves: () => true, openByte: null }), []);
  return (
    <div className="row payloads-axes" aria-hidden="true">
      <div className="row-label">
        <ThreadLabels layout={layout} />
      </div>
      <svg width="100%" height={layout.height}>
        {layout.rows.map((row) => (
          <line key={row.y} x1="0" x2="100%" y1={row.y + row.height / 2} y2={row.y + row.height / 2} />
        ))}
      </svg>
    </div>
  );
}
