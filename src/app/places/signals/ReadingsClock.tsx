/** Whose clock the readings of files were taken by: its offset as the data tell it, set by hand apart from that of the marks. */
import type { ReactNode } from 'react';
import { OffsetField } from '../../offset/OffsetField.tsx';
import { OffsetPicture } from '../../offset/OffsetPicture.tsx';
import { useFoundReferenceClock } from '../../stores/asking.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useDossier, withCapture } from '../../stores/dossier.ts';
import { signed } from '../../../kit/sheet-figures.ts';
import type { FitState } from './fit-state.ts';

const FROM_WORDS = {
  found: 'Found where fields and readings go together best',
  given: 'Given by hand',
  'not-needed': 'Too few readings to find one: taken as they are',
};

function setReferenceOffset(captureId: string, offset: 'auto' | number): void {
  useDossier
    .getState()
    .change(
      'set clock offset of the readings',
      (dossier) =>
        withCapture(dossier, captureId, ({ referenceOffset: _before, ...capture }) =>
          offset === 'auto' ? capture : { ...capture, referenceOffset: offset },
        ),
      `reference-offset-${captureId}`,
    );
}

export function ReadingsClock({ state }: { state: FitState }): ReactNode {
  const entry = useCurrentCapture()?.entry;
  const found = useFoundReferenceClock(state.file);
  const { clock: now } = state;
  if (!entry || !now) return null;
  const clock = now.curve ? now : { ...(found ?? now) };
  const byHand = entry.referenceOffset;
  const heldS = byHand ?? now.offsetS;
  const hold = (to: 'auto' | number): void => setReferenceOffset(entry.id, to);
  return (
    <details className="readings-clock">
      <summary>
        <h4>
          The readings’ clock <small>{signed(heldS, 2)} s</small>
        </h4>
      </summary>
      <p className="small dim">
        {FROM_WORDS[byHand === undefined ? now.from : 'given']}. It is apart from the marks’ clock.
      </p>
      <OffsetField
        label="Offset of the readings by hand, seconds"
        heldS={heldS}
        byHand={byHand !== undefined}
        hold={hold}
      />
      {clock.curve && (
        <OffsetPicture title="Agreement of readings and fields" clock={clock} heldS={heldS} hold={hold} />
      )}
    </details>
  );
}
