/** The held signal's unit, scale, offset, kind, role and notes: each kept as it is left, each a step that can be undone. */
import { useState, type ReactNode } from 'react';
import type { MapSignal, SignalKind, SignalRole } from '../../../map/schema.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { changeSignal, removeSignal } from './dossier-signals.ts';
import type { SignalRow } from './held-signal.ts';
import { ROLES } from './NameDialog.tsx';
import { numberTyped, rescaled } from './naming.ts';
import { useSignals } from './store.ts';

const KINDS: readonly SignalKind[] = ['number', 'states', 'flag', 'text'];

export const edit = (row: SignalRow, label: string, recipe: (signal: MapSignal) => MapSignal): void =>
  useDossier.getState().change(label, (dossier) => changeSignal(dossier, row.frame, row.signal.name, recipe));

export function SignalEditor({ row }: { row: SignalRow }): ReactNode {
  const { signal } = row;
  const name = signal.name;
  return (
    <details className="panel-part signals-editor">
      <summary>
        <h3>Change it</h3>
      </summary>
      <div className="signals-form">
        <Typed
          row={row}
          name="unit"
          value={signal.unit}
          put={(unit) => edit(row, `unit of ${name}`, (old) => ({ ...old, unit }))}
        />
        <label className="labelled">
          kind
          <select
            className="field"
            value={signal.kind}
            onChange={(event) =>
              edit(row, `kind of ${name}`, (old) => ({ ...old, kind: event.target.value as SignalKind }))
            }
          >
            {KINDS.map((kind) => (
              <option key={kind}>{kind}</option>
            ))}
          </select>
        </label>
        <NumberTyped
          row={row}
          name="scale"
          value={signal.scale}
          refuses={(value) => value === 0}
          put={(scale) => edit(row, `scale of ${name}`, (old) => rescaled(old, scale, old.offset))}
        />
        <NumberTyped
          row={row}
          name="offset"
          value={signal.offset}
          put={(offset) => edit(row, `offset of ${name}`, (old) => rescaled(old, old.scale, offset))}
        />
        <label className="labelled wide">
          role
          <select
            className="field"
            value={signal.role}
            onChange={(event) =>
              edit(row, `role of ${name}`, (old) => ({ ...old, role: event.target.value as SignalRole }))
            }
          >
            {ROLES.map((role) => (
              <option key={role}>{role}</option>
            ))}
          </select>
        </label>
        <Typed
          row={row}
          name="notes"
          wide
          value={signal.notes}
          put={(notes) => edit(row, `notes on ${name}`, (old) => ({ ...old, notes }))}
        />
        <p className="wide line-of">
          <button type="button" className="button" onClick={() => useSignals.getState().set({ naming: true })}>
            Rename <kbd>N</kbd>
          </button>
          <button type="button" className="button" onClick={() => takeNameAway(row)}>
            Take its name away
          </button>
        </p>
      </div>
    </details>
  );
}

function takeNameAway(row: SignalRow): void {
  useDossier
    .getState()
    .change(`take away ${row.signal.name}`, (dossier) => removeSignal(dossier, row.frame, row.signal.name));
  useView.getState().select({ signal: null });
}

interface TypedProps {
  readonly row: SignalRow;
  readonly name: string;
  readonly value: string;
  readonly wide?: boolean;
  readonly put: (value: string) => void;
}

function Typed({ row, name, value, wide, put }: TypedProps): ReactNode {
  const [typed, setTyped] = useState<string | null>(null);
  const keep = (): void => {
    if (typed !== null && typed.trim() !== value) put(typed.trim());
    setTyped(null);
  };
  return (
    <label className={`labelled ${wide ? 'wide' : ''}`} key={row.key}>
      {name}
      <input
        className="field"
        value={typed ?? value}
        onChange={(event) => setTyped(event.target.value)}
        onBlur={keep}
        onKeyDown={(event) => {
          if (event.key === 'Enter') keep();
          if (event.key === 'Escape') setTyped(null);
        }}
      />
    </label>
  );
}

interface NumberProps extends Omit<TypedProps, 'value' | 'put'> {
  readonly value: number;
  readonly refuses?: (value: number) => boolean;
  readonly put: (value: number) => void;
}

function NumberTyped({ row, name, value, refuses, put }: NumberProps): ReactNode {
  const [typed, setTyped] = useState<string | null>(null);
  const number = typed === null ? value : numberTyped(typed);
  const wrong = number === null || refuses?.(number);
  const keep = (): void => {
    if (wrong) return;
    if (typed !== null && number !== value) put(number);
    setTyped(null);
  };
  return (
    <label className="labelled" key={row.key}>
      {name}
      <input
        className="field"
        inputMode="decimal"
        aria-invalid={wrong ? true : undefined}
        value={typed ?? String(value).replace('-', '−')}
        onChange={(event) => setTyped(event.target.value)}
        onBlur={keep}
        onKeyDown={(event) => {
          if (event.key === 'Enter') keep();
          if (event.key === 'Escape') setTyped(null);
        }}
      />
      {wrong && <span className="tiny">{number === 0 ? 'not 0' : 'a number, like 0.5'}</span>}
    </label>
  );
}
