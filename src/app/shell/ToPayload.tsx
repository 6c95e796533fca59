/** From the facts of an identifier to its bits. */
import type { ReactNode } from 'react';
import { useView } from '../stores/view.ts';

export function ToPayload(): ReactNode {
  return (
    <button type="button" className="button" onClick={() => useView.getState().go('payloads')}>
      See its payload <kbd>Enter</kbd>
    </button>
  );
}
