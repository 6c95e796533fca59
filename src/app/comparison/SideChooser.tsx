/** Which capture, and how much of it: all, or what the brackets of the ruler hold. */
import type { ReactNode } from 'react';
import { useDossier } from '../stores/dossier.ts';
import { isWhole, useView } from '../stores/view.ts';
import { clock } from '../../kit/sheet-figures.ts';
import { useComparisonChoice, type Side } from './store.ts';

export function SideChooser({ which, side }: { which: 'a' | 'b'; side: Side | null }): ReactNode {
  const captures = useDossier(({ dossier }) => dossier.captures);
  const choose = (next: Side): void => useComparisonChoice.getState().choose(which, next);
  const word = which === 'a' ? 'First' : 'Second';
  return (
    <div className="cmp-side">
      <label className="cmp-pick">
        <span className="tiny dim">{word.toLowerCase()}</span>
        <select
          className="field"
          aria-label={`${word} capture`}
          value={side?.captureId ?? ''}
          onChange={(event) => choose({ captureId: event.target.value, span: null })}
        >
          {!side && <option value="">choose</option>}
          {captures.map(({ id, title, role }) => (
            <option key={id} value={id}>
              {role ? `${title} (${role})` : title}
            </option>
          ))}
        </select>
      </label>
      {side && <SpanChooser word={word} side={side} choose={choose} />}
    </div>
  );
}

function SpanChooser({ word, side, choose }: { word: string; side: Side; choose: (side: Side) => void }): ReactNode {
  const here = useView((view) => view.captureId === side.captureId);
  const window = useView((view) => view.window);
  const whole = useView(isWhole);
  const { span } = side;
  const isShown = span !== null && span.fromS === window.fromS && span.toS === window.toS;
  return (
    <span className="cmp-span tiny">
      {span ? `${clock(span.fromS, 1)} to ${clock(span.toS, 1)}` : 'all of it'}
      {span && (
        <button
          type="button"
          className="button plain tiny"
          aria-label={`${word}: all of it`}
          onClick={() => choose({ ...side, span: null })}
        >
          take all
        </button>
      )}
      {here && !whole && !isShown && (
        <button
          type="button"
          className="button plain tiny"
          aria-label={`${word}: only what is in view`}
          onClick={() => choose({ ...side, span: { fromS: window.fromS, toS: window.toS } })}
        >
          take the view
        </button>
      )}
    </span>
  );
}
