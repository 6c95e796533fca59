/** Marks, the words: the mark and the action that are held, and the run card. */
import { useState, type ReactNode } from 'react';
import type { DossierMark } from '../../../jobs/dossier.ts';
import { useLinks, useRulerMarks, type RulerMarks } from '../../stores/asking.ts';
import { addAction, deleteAction, editMark, renameAction } from '../../stores/marks-edits.ts';
import { useView } from '../../stores/view.ts';
import { duration, plural } from '../../words/format.ts';
import { parseSeconds } from '../../words/parse-seconds.ts';
import { exportFile, importFile, removeSelected } from './commands.ts';
import { RunCard } from './run/RunCard.tsx';
import { useMarksPlace } from './store.ts';

export function MarksPanel(): ReactNode {
  const ruler = useRulerMarks();
  const { mark: key, action } = useView((view) => view.selection);
  const runCard = useMarksPlace((state) => state.runCard);
  const mark = ruler.marks.find((other) => other.key === key);
  if (runCard !== 'off') return <RunCard />;
  return (
    <>
      {mark && <MarkEditor key={mark.key} mark={mark} ruler={ruler} />}
      {action !== null && ruler.actions.includes(action) && <ActionEditor key={action} action={action} ruler={ruler} />}
      <NewAction />
      <section className="wide-only">
        <h3>Run card</h3>
        <p className="small dim">
          A list of actions to perform in the vehicle: cues in large words, a count-down, one key a step. It writes the
          marks itself, also on a phone and with no capture loaded.
        </p>
        <p style={{ marginTop: 8 }}>
          <button type="button" className="button" onClick={() => useMarksPlace.getState().setRunCard('plan')}>
            Open the run card <kbd>C</kbd>
          </button>
        </p>
      </section>
      <section className="narrow-only">
        <h3>Marks as a file</h3>
        <p className="line-of" style={{ marginTop: 6 }}>
          <button type="button" className="button" onClick={() => void importFile()}>
            Import
          </button>
          <button type="button" className="button" onClick={exportFile}>
            Export
          </button>
        </p>
      </section>
      <MarksTable ruler={ruler} />
    </>
  );
}

function MarkEditor({ mark, ruler }: { mark: DossierMark; ruler: RulerMarks }): ReactNode {
  const captureId = useView((view) => view.captureId);
  if (captureId === null) return null;
  const { shiftS } = ruler.clock;
  const strand = (name: string): string => `mark-${mark.key}-${name}`;
  return (
    <section>
      <h3>
        This mark <small>{mark.endS === null ? 'an instant' : `lasts ${duration(mark.endS - mark.startS)}`}</small>
      </h3>
      <div className="two-fields">
        <SecondsField
          id="mark-start"
          label="Start, s on the ruler"
          value={mark.startS}
          onTake={(s) => s !== null && editMark(captureId, mark.key, { startS: s - shiftS })}
        />
        <SecondsField
          label="End, s (empty: an instant)"
          value={mark.endS}
          onTake={(s) => editMark(captureId, mark.key, { endS: s === null ? null : s - shiftS })}
        />
        <label className="labelled">
          Action
          <select
            className="field"
            value={mark.action}
            onChange={(event) => editMark(captureId, mark.key, { action: event.target.value })}
          >
            {ruler.actions.map((action) => (
              <option key={action}>{action}</option>
            ))}
          </select>
        </label>
        <label className="labelled">
          Value
          <input
            className="field"
            placeholder="D, 50 %, on"
            value={mark.value ?? ''}
            onChange={(event) =>
              editMark(captureId, mark.key, { value: event.target.value || undefined }, strand('value'))
            }
          />
        </label>
      </div>
      <label className="labelled" style={{ marginTop: 8 }}>
        Note
        <input
          className="field"
          value={mark.note ?? ''}
          onChange={(event) => editMark(captureId, mark.key, { note: event.target.value || undefined }, strand('note'))}
        />
      </label>
      <p className="line-of" style={{ marginTop: 8 }}>
        <button type="button" className="button" onClick={removeSelected}>
          Delete mark <kbd>Del</kbd>
        </button>
      </p>
      <p className="small dim" style={{ marginTop: 6 }}>
        With the tracks in focus: <kbd>Shift ←</kbd> <kbd>→</kbd> move it, <kbd>[</kbd> <kbd>]</kbd> set start and end
        to the cursor.
      </p>
    </section>
  );
}

interface SecondsFieldProps {
  readonly id?: string;
  readonly label: string;
  readonly value: number | null;
  readonly onTake: (seconds: number | null) => void;
}

/** Takes seconds or minutes:seconds; nothing is taken that is not a time. */
function SecondsField({ id, label, value, onTake }: SecondsFieldProps): ReactNode {
  const [text, setText] = useState<string | null>(null);
  const bad = text !== null && text.trim() !== '' && parseSeconds(text) === null;
  const take = (): void => {
    if (text !== null && !bad) onTake(parseSeconds(text));
    if (!bad) setText(null);
  };
  return (
    <label className="labelled">
      {label}
      <input
        id={id}
        className="field"
        inputMode="decimal"
        aria-invalid={bad}
        value={text ?? (value === null ? '' : value.toFixed(2))}
        onChange={(event) => setText(event.target.value)}
        onBlur={take}
        onKeyDown={(event) => {
          if (event.key === 'Enter') take();
          if (event.key === 'Escape') setText(null);
        }}
      />
    </label>
  );
}

function ActionEditor({ action, ruler }: { action: string; ruler: RulerMarks }): ReactNode {
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
        <p className="small dim inferred" style={{ marginTop: 6 }}>
          {words}
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

function NewAction(): ReactNode {
  const [name, setName] = useState('');
  const add = (): void => {
    const action = name.trim();
    if (!action) return;
    addAction(action);
    useView.getState().select({ action, mark: null });
    setName('');
  };
  return (
    <section>
      <h3>New action</h3>
      <div className="line-of" style={{ marginTop: 6, flexWrap: 'nowrap' }}>
        <input
          id="new-action"
          className="field"
          style={{ flex: 1 }}
          aria-label="Name of the new action"
          placeholder="brake pressed"
          value={name}
          onChange={(event) => setName(event.target.value)}
          onKeyDown={(event) => event.key === 'Enter' && add()}
        />
        <button type="button" className="button" disabled={!name.trim()} onClick={add}>
          Add
        </button>
      </div>
    </section>
  );
}

/** All marks as a table, for those who cannot see the tracks. */
function MarksTable({ ruler }: { ruler: RulerMarks }): ReactNode {
  if (!ruler.marks.length) return null;
  return (
    <table className="unseen">
      <caption>All marks, in seconds of the ruler</caption>
      <thead>
        <tr>
          <th>action</th>
          <th>start</th>
          <th>end</th>
          <th>value</th>
          <th>note</th>
        </tr>
      </thead>
      <tbody>
        {ruler.marks.map((mark) => (
          <tr key={mark.key}>
            <td>{mark.action}</td>
            <td>{mark.startS.toFixed(2)}</td>
            <td>{mark.endS?.toFixed(2) ?? ''}</td>
            <td>{mark.value}</td>
            <td>{mark.note}</td>
          </tr>
        ))}
      </tbody>
    </table>
  );
}
