/** Numbers that the person knows to be theirs: looked for in every packing, kept in memory only. */
import { useId, useState, type FormEvent, type ReactNode } from 'react';
import { isLongEnough } from '../../../../handover/publish/known.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { search } from './asking.ts';
import { masked } from './finds.ts';
import { usePublish } from './store.ts';

export function Typed({ map }: { map: SignalMap }): ReactNode {
  const typed = usePublish((state) => state.typed);
  const [text, setText] = useState('');
  const [why, setWhy] = useState('');
  const problem = useId();
  const add = (event: FormEvent): void => {
    event.preventDefault();
    const number = text.trim();
    if (!isLongEnough(number))
      return setWhy(
        'Too short or too plain to be told from chance: six digits at least, or four characters of three kinds.',
      );
    if (!typed.includes(number)) usePublish.getState().set({ typed: [...typed, number] });
    setText('');
    void search(map);
  };
  return (
    <section className="publish-typed">
      <h3>
        Numbers you know of <small>of the vehicle, its modules, or yours</small>
      </h3>
      <form className="line-of" onSubmit={add}>
        <label className="labelled">
          Vehicle, serial or part number
          <input
            id="publish-number"
            className="field mono"
            value={text}
            autoComplete="off"
            spellCheck={false}
            aria-invalid={why !== ''}
            aria-describedby={why ? problem : undefined}
            onChange={(event) => {
              setText(event.target.value);
              setWhy('');
            }}
          />
        </label>
        <button type="submit" className="button">
          Look for it <kbd>↵</kbd>
        </button>
      </form>
      <p id={problem} className="small" role="status">
        {why}
      </p>
      {typed.length > 0 && (
        <ul>
          {typed.map((number) => (
            <li key={number}>
              <span className="mono">{masked(number)}</span>
              <button
                type="button"
                className="button plain"
                onClick={() => {
                  usePublish.getState().set({ typed: typed.filter((other) => other !== number) });
                  void search(map);
                }}
              >
                Forget it<span className="unseen"> {masked(number)}</span>
              </button>
            </li>
          ))}
        </ul>
      )}
      <p className="small dim">
        Held in memory while this page is open: neither the dossier nor this browser’s storage gets what is typed or
        found here.
      </p>
    </section>
  );
}
