/** One item of the checklist as it is answered: a figure with its unit, a word about it, and whether it is as it should be. */
import { flushSync } from 'react-dom';
import { useId, useState, type FormEvent, type ReactNode } from 'react';
import type { CheckItem } from '../../../../handover/bench/checklist-items.ts';
import { judgedMeasurement, whyNotTaken, type GivenMeasurement } from '../../../../handover/bench/checklist.ts';
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import { withMeasurement } from '../../../../handover/bench/record.ts';
import { keepBench } from './kept.ts';
import { useBenchView } from './store.ts';
import { goToNextOpen } from './wiring-focus.ts';
import { figureOf } from './words.ts';

interface CheckFormProps {
  readonly item: CheckItem;
  readonly record: BenchRecord;
  readonly onTaken?: () => void;
}

const whoMeasures = (record: BenchRecord): string => useBenchView.getState().by ?? record.checklist.at(-1)?.by ?? '';

/** Takes the answer into the dossier, or says what is missing. */
function take(record: BenchRecord, item: CheckItem, given: GivenMeasurement): string | null {
  if (Number.isNaN(given.value)) return `Write a figure in ${item.unit || 'digits'}, or nothing.`;
  const missing = whyNotTaken(given);
  if (missing !== null) return missing;
  keepBench(`answer “${item.title}”`, withMeasurement(record, judgedMeasurement(given)));
  return null;
}

export function CheckForm({ item, record, onTaken }: CheckFormProps): ReactNode {
  const [figure, setFigure] = useState('');
  const [note, setNote] = useState('');
  const [problem, setProblem] = useState<string | null>(null);
  const id = useId();
  const answer = (verdict: GivenMeasurement['verdict']): void => {
    const value = item.unit === '' ? null : figureOf(figure);
    const given = { item: item.name, verdict, value, unit: item.unit, note: note.trim() };
    const whole = { ...given, by: whoMeasures(record).trim(), at: new Date().toISOString() };
    // At once, so that the hands are in the next field before the next letter is typed: on the page letters are commands.
    const missing = flushSync(() => {
      const why = take(record, item, whole);
      setProblem(why);
      if (why === null) onTaken?.();
      return why;
    });
    if (missing === null && !onTaken) goToNextOpen();
  };
  return (
    <form
      className="check-form"
      onSubmit={(event: FormEvent) => {
        event.preventDefault();
        answer('ok');
      }}
    >
      <p className="small">
        {item.measure} <span className="dim">Expected: {item.expected}.</span>
      </p>
      <div className="check-fields">
        {item.unit !== '' && (
          <label className="labelled check-figure">
            Measured, {item.unit}
            <input
              className="field check-first"
              inputMode="decimal"
              value={figure}
              autoComplete="off"
              aria-invalid={problem !== null && Number.isNaN(figureOf(figure))}
              aria-describedby={problem ? id : undefined}
              onChange={(event) => setFigure(event.target.value)}
            />
          </label>
        )}
        <label className="labelled check-note">
          {item.unit === '' ? 'What was seen' : 'To be said of it'}
          <input
            className={`field ${item.unit === '' ? 'check-first' : ''}`}
            value={note}
            autoComplete="off"
            onChange={(event) => setNote(event.target.value)}
          />
        </label>
        <span className="check-verdicts" role="group" aria-label={item.title}>
          <button type="submit" className="button">
            ok <kbd>↵</kbd>
          </button>
          <button type="button" className="button" onClick={() => answer('not-ok')}>
            not ok
          </button>
          <button type="button" className="button" onClick={() => answer('not-applicable')}>
            does not apply
          </button>
        </span>
      </div>
      <p id={id} className="small check-problem" role="status">
        {problem ?? ''}
      </p>
    </form>
  );
}
