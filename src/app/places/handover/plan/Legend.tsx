/** What the marks of the drawing mean. */
import type { ReactNode } from 'react';
import type { Lane } from './lanes.ts';
import { NeedGlyph } from './NeedGlyph.tsx';

const Bar = ({ children }: { children?: ReactNode }): ReactNode => (
  <svg width="7" height="17" viewBox="0 0 7 17" aria-hidden="true">
    <rect x="1" width="5" height="17" fill="var(--ink-2)" />
    {children}
  </svg>
);

export function Legend({ lanes }: { lanes: readonly Lane[] }): ReactNode {
  const needs = new Set(lanes.map(({ planned }) => planned.need));
  return (
    <ul className="plan-legend small">
      <li>
        <NeedGlyph need="required" /> required: tried
      </li>
      <li>
        <NeedGlyph need="untested" /> untested
      </li>
      {needs.has('not-required') && (
        <li>
          <NeedGlyph need="not-required" /> not required
        </li>
      )}
      {lanes.some(({ counter }) => counter) && (
        <li>
          <Bar>
            <circle cx="3.5" cy="4.5" r="1.4" fill="var(--ground)" />
          </Bar>
          a dot: counter runs
        </li>
      )}
      {lanes.some(({ checksum }) => checksum) && (
        <li>
          <Bar>
            <rect x="1" y="11.5" width="5" height="2" fill="var(--ground)" />
          </Bar>
          a notch: checksum made anew
        </li>
      )}
      {lanes.some(({ isPlaced, everyMs }) => !isPlaced && everyMs !== null) && (
        <li>
          <svg width="7" height="17" viewBox="0 0 7 17" aria-hidden="true">
            <rect x="1.5" y="0.5" width="4" height="16" fill="none" stroke="var(--ink-2)" />
          </svg>
          open: phase unknown, drawn from zero
        </li>
      )}
    </ul>
  );
}
