/** The mark that is held: start, end, action, value and note. */
import { useState, type ReactNode } from 'react';
import type { DossierMark } from '../../../jobs/dossier.ts';
import type { RulerMarks } from '../../stores/asking.ts';
import { editMark } from '../../stores/marks-edits.ts';
import { fromRuler } from '../../stores/marks-clock.ts';
import { useView } from '../../stores/view.ts';
import { duration } from '../../../kit/sheet-figures.ts';
import { parseSeconds } from '../../words/parse-seconds.ts';
import { removeSelected } from './commands.ts';

export function MarkEditor({ mark, ruler }: { mark: DossierMark; ruler: RulerMarks }): ReactNode {
  const captureId = useView((view) => view.captureId);
  if (captureId === null) return null;
  const { clock } = ruler;
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
          onTake={(s) => s !== null && editMark(captureId, mark.key, { startS: fromRuler(s, clock) })}
        />
        <SecondsField
          label="End, s (empty: an instant)"
          value={mark.endS}
          onTake={(s) => editMark(captureId, mark.key, { endS: s === null ? null : fromRuler(s, clock) })}
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
