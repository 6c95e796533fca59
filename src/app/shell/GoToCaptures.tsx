/** The way out of a place that has no recording to look at. */
import type { ReactNode } from 'react';
import { useView } from '../stores/view.ts';

export const GoToCaptures = (): ReactNode => (
  <button type="button" className="button" onClick={() => useView.getState().go('captures')}>
    Go to Captures <kbd>1</kbd>
  </button>
);
