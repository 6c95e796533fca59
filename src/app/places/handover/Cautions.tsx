/** The cautions: all of them until they were read, and folded after that, but for those that this very map gives reason for. */
import type { ReactNode } from 'react';
import { USUAL_CAUTIONS } from '../../../handover/cautions.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useHandover, wordsOf } from './store.ts';

/** Those that this very map gives reason for come first: they differ from part to part, and get skipped otherwise. */
function inReadingOrder(cautions: readonly string[]): readonly string[] {
  const own = cautions.filter((words) => !USUAL_CAUTIONS.includes(words));
  return [...own, ...cautions.filter((words) => USUAL_CAUTIONS.includes(words))];
}

export function Cautions({ cautions }: { cautions: readonly string[] }): ReactNode {
  const read = useHandover((state) => state.read === wordsOf(cautions));
  const title = useDossier(({ dossier }) => dossier.part.destination || dossier.part.title);
  const ordered = inReadingOrder(cautions);
  const usual = ordered.filter((words) => USUAL_CAUTIONS.includes(words));
  const own = ordered.filter((words) => !USUAL_CAUTIONS.includes(words));
  return (
    <section className="handover-cautions" aria-label="Cautions">
      <div className="stripes" aria-hidden="true" />
      <div className="handover-cautions-inner">
        <h2>This part can move{title ? `: ${title}` : ''}</h2>
        <Listed cautions={read ? own : ordered} />
        {read && (
          <details className="small">
            <summary>The {usual.length} that hold for every part</summary>
            <Listed cautions={usual} />
          </details>
        )}
        <label className="handover-read">
          <input
            type="checkbox"
            checked={read}
            onChange={(event) => useHandover.getState().set({ read: event.target.checked ? wordsOf(cautions) : null })}
          />
          <span>I have read these. They go into every file that can send.</span>
          <kbd>K</kbd>
        </label>
      </div>
    </section>
  );
}

const Listed = ({ cautions }: { cautions: readonly string[] }): ReactNode => (
  <ol>
    {cautions.map((words) => (
      <li key={words}>
        <span>{words}</span>
      </li>
    ))}
  </ol>
);
