/** In place of an answer that is not there yet: what it waits for, and how to stop it or to have it after all. */
import type { ReactNode } from 'react';
import type { AskedComparison } from './asking.ts';
import { waitingWords } from './words.ts';

export function Waiting({ asked, className }: { asked: AskedComparison; className: string }): ReactNode {
  const { slot } = asked;
  return (
    <p className={className} role="status">
      {waitingWords(asked)}{' '}
      {slot?.state === 'running' && (
        <button type="button" className="button plain" onClick={() => slot.stop()}>
          Stop
        </button>
      )}
      {(slot?.state === 'stopped' || slot?.state === 'failed') && (
        <button type="button" className="button plain" onClick={asked.again}>
          Compare again
        </button>
      )}
    </p>
  );
}
