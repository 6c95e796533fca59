/** In a line: whether the open recording suffices, and the way to what it lacks. */
import type { ReactNode } from 'react';
import type { Sufficiency } from '../../../proof/suffices/types.ts';
import { LookedAt, useCurrentCapture } from '../../stores/finding.ts';
import { useView } from '../../stores/view.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { useSufficiency } from './asking.ts';

/** Of the open capture, whatever Proof looks at. */
export const WeakLine = (): ReactNode => (
  <LookedAt value={null}>
    <Told />
  </LookedAt>
);

export function shortWords({ needs, next }: Pick<Sufficiency, 'needs' | 'next'>): string {
  const short = needs.filter(({ verdict }) => verdict === 'short').length;
  const untold = needs.filter(({ verdict }) => verdict === 'cannot-tell').length;
  if (short === 0 && next.length === 0) return 'Nothing is short, as far as the recording can tell.';
  const parts = [`${plural(short, 'need')} short`, ...(untold > 0 ? [`${untold} cannot be told`] : [])];
  return `${parts.join(', ')}; ${plural(next.length, 'recording')} proposed.`;
}

function Told(): ReactNode {
  const { value } = useSufficiency();
  const current = useCurrentCapture();
  const waiting = current
    ? 'Whether the recording suffices is told once its fields are found.'
    : 'Here stands whether the recording that is open suffices.';
  return (
    <section className="panel-part">
      <h3>Before you cut it up</h3>
      <p className="small">{value ? shortWords(value) : waiting}</p>
      <button type="button" className="button" onClick={() => useView.getState().askProof('weak')}>
        What is still weak <kbd>W</kbd>
      </button>
    </section>
  );
}
