/** Under the tracks: whose clock the marks were taken by, or what follows an action. */
import type { ReactNode } from 'react';
import { useCurrentCapture } from '../../stores/finding.ts';
import { Story } from './story/Story.tsx';
import { useMarksPlace } from './store.ts';
import { WhoseClock } from './WhoseClock.tsx';

export function Below(): ReactNode {
  const current = useCurrentCapture();
  const { below, set } = useMarksPlace();
  if (!current || current.open.phase !== 'ready' || current.entry.marks.length === 0) return null;
  return (
    <>
      <div className="below-switch past-gutter">
        <div className="switch" role="group" aria-label="Under the tracks">
          <button type="button" aria-pressed={below === 'clock'} onClick={() => set({ below: 'clock' })}>
            Whose clock? <kbd>K</kbd>
          </button>
          <button type="button" aria-pressed={below === 'story'} onClick={() => set({ below: 'story' })}>
            What follows? <kbd>S</kbd>
          </button>
        </div>
      </div>
      {below === 'clock' ? <WhoseClock /> : <Story />}
    </>
  );
}
