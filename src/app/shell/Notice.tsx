/** The sentence at the foot of the sheet. */
import type { ReactNode } from 'react';
import { useNotice } from './notices.ts';

export function Notice(): ReactNode {
  const { words, show } = useNotice();
  return (
    <div className="notice" role="status">
      {words && (
        <p>
          {words}{' '}
          <button type="button" className="button" onClick={() => show(null)}>
            Understood
          </button>
        </p>
      )}
    </div>
  );
}
