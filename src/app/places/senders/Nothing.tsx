/** Senders with nothing to draw: the empty trunk in place, one sentence, one button. */
import type { ReactNode } from 'react';
import { GoToCaptures } from '../../shell/GoToCaptures.tsx';
import { useCurrentCapture } from '../../stores/finding.ts';
import { percent } from '../../../kit/sheet-figures.ts';
import { NOT_READ } from '../payloads/Nothing.tsx';
import type { HeldLoom } from './held.ts';

export function Nothing({ held }: { held: HeldLoom }): ReactNode {
  const open = useCurrentCapture()?.open;
  const { slot } = held.finding;
  const failed = slot?.state === 'failed' || slot?.state === 'stopped';
  const isBusy = open?.phase === 'reading' || open?.phase === 'waiting' || (open?.phase === 'ready' && !failed);
  const share = open?.progress?.bytesTotal ? open.progress.bytesRead / open.progress.bytesTotal : 0;
  const words = !open
    ? 'No recording is open. Senders shows each bus as a trunk, each module as a branch of it, each identifier as a strand.'
    : failed
      ? `Who is talking could not be worked out: ${slot?.note || 'it was stopped'}.`
      : (NOT_READ[open.phase] ??
        (open.phase === 'ready'
          ? 'Reading the clocks of all identifiers: the loom is drawn in a moment.'
          : `Reading, ${percent(share)}: who is talking shows when all of the recording is there.`));
  return (
    <div className="senders-nothing">
      <svg width="160" height="220" aria-hidden="true">
        <rect x="22.5" y="3.5" width="128" height="13" fill="none" stroke="var(--rule-key)" />
        <line x1="22" x2="151" y1="10" y2="10" stroke="var(--rule-key)" />
        {[40, 56, 72, 88, 104, 120, 136].map((x) => (
          <line key={x} x1={x} x2={x} y1="17" y2="220" stroke="var(--rule)" />
        ))}
      </svg>
      <div className="need">
        <p role="status">{words}</p>
        {failed && (
          <button type="button" className="button" onClick={() => held.finding.again()}>
            Try again
          </button>
        )}
        {!isBusy && !failed && <GoToCaptures />}
      </div>
    </div>
  );
}
