/** Required: a solid square; untested: a dashed one; not required: a short dash. */
import type { ReactNode } from 'react';
import type { PlannedFrame } from '../../../../handover/needs/types.ts';

export const NEED_WORDS: Readonly<Record<PlannedFrame['need'], string>> = {
  required: 'required',
  untested: 'untested',
  'not-required': 'not required',
};

export function NeedGlyph({ need }: { need: PlannedFrame['need'] }): ReactNode {
  return (
    <svg className="need-glyph" width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">
      {need === 'required' && <rect x="1" y="1" width="10" height="10" fill="var(--ink)" />}
      {need === 'untested' && (
        <rect x="1.5" y="1.5" width="9" height="9" fill="none" stroke="var(--ink-3)" strokeDasharray="2 1.6" />
      )}
      {need === 'not-required' && <line x1="3" x2="9" y1="6" y2="6" stroke="var(--ink-2)" strokeWidth="1.5" />}
    </svg>
  );
}
