/** A verdict as a shape: told by form, never by colour. */
import type { ReactNode } from 'react';
import type { Verdict } from './words.ts';

const SHAPES: Readonly<Record<Verdict, ReactNode>> = {
  operational: <circle cx="6" cy="6" r="4.5" fill="currentColor" />,
  'awake-with-fault': <path d="M6 1 11 10.5H1Z" fill="none" stroke="currentColor" strokeWidth="1.5" />,
  asleep: <path d="M1.5 6h9" stroke="currentColor" strokeWidth="2" />,
  unclear: <circle cx="6" cy="6" r="4.5" fill="none" stroke="currentColor" strokeWidth="1.5" strokeDasharray="2 2" />,
};

export const VerdictGlyph = ({ verdict }: { verdict: Verdict }): ReactNode => (
  <svg className="verdict-glyph" width="12" height="12" viewBox="0 0 12 12" aria-hidden="true">
    {SHAPES[verdict]}
  </svg>
);

/** The same inside of another drawing, its middle at x, y. */
export const VerdictMark = ({ verdict, x, y }: { verdict: Verdict; x: number; y: number }): ReactNode => (
  <g transform={`translate(${x - 6} ${y - 6})`}>{SHAPES[verdict]}</g>
);
