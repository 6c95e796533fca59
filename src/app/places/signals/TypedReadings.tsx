/** Meter readings typed at the cursor, and what they still need. */
import { useState, type FormEvent, type ReactNode } from 'react';
import { useView } from '../../stores/view.ts';
import { clock, value as valueWords } from '../../../kit/sheet-figures.ts';
import type { FitState } from './fit-state.ts';
import type { SignalRow } from './held-signal.ts';
import { numberTyped } from './naming.ts';
import { addReadingTo, removeReadingFrom } from './reading-steps.ts';
import { useSignals } from './store.ts';
import { readingsNeeded } from './typed-fit.ts';

export function TypedReadings({ row, state }: { row: SignalRow; state: FitState }): ReactNode {
  const cursorS = useView((view) => view.cursorS);
  const capture = useView((view) => view.captureId);
  const [typed, setTyped] = useState('');
  const own = state.references.find(({ from, name }) => from === 'typed' && name === row.signal.name);
  const [unit, setUnit] = useState<string | null>(null);
  const number = numberTyped(typed);
  const shownUnit = unit ?? own?.unit ?? row.signal.unit;
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    if (number === null || cursorS === null || !capture) return;
    addReadingTo(capture, { name: row.signal.name, unit: shownUnit }, { atS: cursorS, value: number });
    useSignals.getState().set({ quantity: `typed ${row.signal.name} [${shownUnit}]` });
    setTyped('');
  };
  const ownLine = state.chosen?.from === 'typed' ? state.line : null;
  return (
    <form className="signals-typed" onSubmit={submit}>
      <h4>Read off a meter</h4>
      {cursorS === null ? (
        <p className="small dim">Set the cursor where the meter was read: click in a trace, or step with ← and →.</p>
      ) : (
        <p className="line-of">
          <label className="line-of small">
            at {clock(cursorS)} it said{' '}
            <input
              className="field signals-reading"
              inputMode="decimal"
              aria-label={`Meter reading at ${clock(cursorS)}`}
              value={typed}
              aria-invalid={typed !== '' && number === null ? true : undefined}
              onChange={(event) => setTyped(event.target.value)}
            />
          </label>
          <input
            className="field signals-unit"
            aria-label="Unit of the reading"
            placeholder="unit"
            value={shownUnit}
            onChange={(event) => setUnit(event.target.value)}
          />
          <button type="submit" className="button" disabled={number === null}>
            Add <kbd>Enter</kbd>
          </button>
        </p>
      )}
      {own && (
        <ul className="signals-readings small">
          {own.timeS.map((timeS, index) => (
            <li key={timeS}>
              <span>{clock(timeS)}</span>
              <span>
                {valueWords(own.value[index] as number)} {own.unit}
              </span>
              <button
                type="button"
                className="button plain"
                aria-label={`Remove the reading at ${clock(timeS)}`}
                onClick={() => capture && removeReadingFrom(capture, row.signal.name, index)}
              >
                remove
              </button>
            </li>
          ))}
        </ul>
      )}
      {own && state.chosen?.from === 'typed' && (
        <p className="small dim">{readingsNeeded(ownLine, own.timeS.length)}</p>
      )}
    </form>
  );
}
