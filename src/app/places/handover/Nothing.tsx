/** There is no map yet: what it waits for, or the way to a recording. */
import type { ReactNode } from 'react';
import { GoToCaptures } from '../../shell/GoToCaptures.tsx';
import { useCurrentCapture } from '../../stores/finding.ts';
import { percent } from '../../../kit/sheet-figures.ts';
import type { MapState } from './use-map.ts';

export function Nothing({ state }: { state: MapState }): ReactNode {
  const current = useCurrentCapture();
  const running = state.needed.find(({ slot }) => slot?.state === 'running')?.slot;
  const failed = state.needed.find(({ slot }) => slot?.state === 'failed' || slot?.state === 'stopped');
  const reading = current?.open.phase === 'reading' || current?.open.phase === 'waiting';
  return (
    <div className="past-gutter need">
      <p role="status">
        {running
          ? `The map is put together when the fields are found: ${percent(running.share)}.`
          : failed
            ? `The fields were not found: ${failed.slot?.note || 'it was stopped'}.`
            : reading
              ? 'Reading the recording: the map can be saved once its fields are found.'
              : 'Nothing to hand over yet: open a recording first.'}
      </p>
      {failed ? (
        <button type="button" className="button" onClick={() => failed.again()}>
          Try again
        </button>
      ) : (
        !running && !reading && <GoToCaptures />
      )}
    </div>
  );
}
