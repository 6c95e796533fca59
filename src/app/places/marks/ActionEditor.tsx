/** The action that is held: its name, what is known of its answers, and taking it out. */
import { useState, type ReactNode } from 'react';
import { useLinks, type RulerMarks } from '../../stores/asking.ts';
import { deleteAction, renameAction } from '../../stores/marks-edits.ts';
import { useView } from '../../stores/view.ts';
import { useMarksPlace } from './store.ts';
import { plural } from '../../../kit/sheet-figures.ts';
import { sentence } from '../../words/sentence.ts';

export function ActionEditor({ action, ruler }: { action: string; ruler: RulerMarks }): ReactNode {
  const [name, setName] = useState(action);
  const links = useLinks().value;
  const own = ruler.marks.filter((mark) => mark.action === action).length;
  const words = links?.actions.find((other) => other.action === action)?.words;
  const take = (): void => {
    const next = name.trim();
    if (!next || next === action) return setName(action);
    renameAction(action, next);
    useView.getState().select({ action: next });
  };
  return (
    <section>
      <h3>
        This action <small>{plural(own, 'mark')}</small>
      </h3>
      <label className="labelled" style={{ marginTop: 6 }}>
        Name
        <input
          id="action-name"
          className="field"
          value={name}
          onChange={(event) => setName(event.target.value)}
          onBlur={take}
          onKeyDown={(event) => event.key === 'Enter' && take()}
        />
      </label>
      {words && (
        <p className="small dim inferred action-words" style={{ marginTop: 6 }}>
          {sentence(words)}
        </p>
      )}
      {own > 0 && (
        <p style={{ marginTop: 8 }}>
          <button
            type="button"
            className="button"
            onClick={() => useMarksPlace.getState().set({ below: 'story', story: null, step: null, repetition: null })}
          >
            What follows it? <kbd>S</kbd>
          </button>
        </p>
      )}
      <p className="line-of" style={{ marginTop: 8 }}>
        <button
          type="button"
          className="button"
          onClick={() => {
            deleteAction(action);
            useView.getState().select({ action: null, mark: null });
          }}
        >
          Delete action{own ? ` and its ${plural(own, 'mark')}` : ''}
        </button>
      </p>
    </section>
  );
}
