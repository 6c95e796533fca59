/** Verdicts told by shape: holds a dot, fails a cross in a solid square, not exercised a ring, does not apply a short dash. Words stand beside. */
import type { ReactNode } from 'react';
import type { ProofVerdict } from '../../../proof/hold/types.ts';
import type { Verdict } from '../../../proof/suffices/types.ts';

const SHAPES: Readonly<Record<ProofVerdict | 'none', ReactNode>> = {
  holds: <circle cx="7" cy="7" r="4" fill="var(--ink-2)" />,
  fails: (
    <>
      <rect x="0.5" y="0.5" width="13" height="13" fill="var(--ink)" />
      <path d="M3.8 3.8l6.4 6.4M10.2 3.8l-6.4 6.4" stroke="var(--ground)" strokeWidth="1.8" />
    </>
  ),
  'not-exercised': <circle cx="7" cy="7" r="3.9" fill="none" stroke="var(--ink-2)" strokeWidth="1.3" />,
  none: <path d="M4 7h6" stroke="var(--rule-key)" strokeWidth="1" />,
};

const Mark = ({ children }: { children: ReactNode }): ReactNode => (
  <svg className="proof-glyph" width="14" height="14" viewBox="0 0 14 14" aria-hidden="true">
    {children}
  </svg>
);

export const VerdictGlyph = ({ verdict }: { verdict: ProofVerdict | null }): ReactNode => (
  <Mark>{SHAPES[verdict ?? 'none']}</Mark>
);

/** What a recording has of what is needed: enough a full measure, short one that is a third full, not to be told an empty dashed one. */
const MEASURES: Readonly<Record<Verdict, ReactNode>> = {
  enough: <rect x="3.5" y="1" width="7" height="12" fill="var(--ink-2)" />,
  short: (
    <>
      <rect x="3.75" y="1.25" width="6.5" height="11.5" fill="none" stroke="var(--ink)" strokeWidth="1.5" />
      <rect x="4" y="9" width="6" height="4" fill="var(--ink)" />
    </>
  ),
  'cannot-tell': (
    <rect
      x="3.75"
      y="1.25"
      width="6.5"
      height="11.5"
      fill="none"
      stroke="var(--ink-2)"
      strokeWidth="1.3"
      strokeDasharray="2 1.8"
    />
  ),
};

export const NeedGlyph = ({ verdict }: { verdict: Verdict }): ReactNode => <Mark>{MEASURES[verdict]}</Mark>;
