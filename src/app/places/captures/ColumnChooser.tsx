/** Which column is which: what each looks like, what it is taken for, and at once what reading it so would give. */
import { useEffect, useState, type ReactNode } from 'react';
import type { ColumnPreview, ColumnTrial } from '../../../frames/column-preview.ts';
import { describeProblem, type Outcome } from '../../../kit/outcome.ts';
import { asFile } from '../../file-sources.ts';
import type { CurrentCapture } from '../../stores/finding.ts';
import { useQuestion } from '../../stores/questions.ts';
import { readAgain } from '../../stores/reading.ts';
import { count, duration, plural } from '../../../kit/sheet-figures.ts';
import { choiceOf, choose, CHOICES, printChoice, type ColumnChoice } from './column-choice.ts';
import type { PreviewQuestion } from './preview-worker.ts';

function askPreview(question: PreviewQuestion): Promise<Outcome<ColumnPreview>> {
  const worker = new Worker(new URL('./preview-worker.ts', import.meta.url), { type: 'module', name: 'columns' });
  return new Promise<Outcome<ColumnPreview>>((resolve, reject) => {
    worker.addEventListener('message', ({ data }: MessageEvent<Outcome<ColumnPreview>>) => resolve(data));
    worker.addEventListener('error', (event) => reject(new Error(event.message)));
    worker.postMessage(question);
  }).finally(() => worker.terminate());
}

export interface ColumnChooserProps {
  readonly capture: CurrentCapture;
  readonly file: string;
  /** By a button; else it stands below the reason why the file was not understood, which must stay in sight. */
  readonly asked: boolean;
  readonly onDone: () => void;
}

interface Choice {
  readonly columns: ColumnChoice;
  readonly delimiter: string;
  readonly skip: number;
}

const namesDates = (columns: ColumnChoice): boolean =>
  Object.values(columns).some((picked) => /^time (date|time)/.test(picked));

export function ColumnChooser({ capture, file, asked, onDone }: ColumnChooserProps): ReactNode {
  const { entry, open } = capture;
  const held = open.files.find(({ name }) => name === file);
  const [choice, setChoice] = useState<Choice | null>(null);
  const [zone, setZone] = useState(entry.zone ?? 'UTC');
  const text = choice ? printChoice(choice.columns, choice.delimiter, choice.skip) : (entry.columns[file] ?? '');
  const answer = useQuestion<Outcome<ColumnPreview>>(held ? `${file}/columns/${text}/${zone}` : null, () =>
    askPreview({ file: asFile(file, (held as NonNullable<typeof held>).blob), columns: text, zone }),
  );
  const preview = answer.value?.ok ? answer.value.value : null;
  useIntoSight(asked, preview);
  const shown = preview ?? null;
  if (!held) return null;
  const start = (from: ColumnPreview): Choice =>
    choice ?? { columns: choiceOf(from), delimiter: from.delimiter, skip: from.skip };
  const take = (): void => {
    if (!shown?.text) return;
    readAgain(entry.id, { columns: { ...entry.columns, [file]: shown.text }, ...(zone === 'UTC' ? {} : { zone }) });
    onDone();
  };
  return (
    <section
      className="column-chooser"
      aria-label={`Columns of ${file}`}
      onKeyDown={(event) => event.key === 'Enter' && (event.ctrlKey || event.metaKey) && take()}
    >
      <h3>
        Which column is which? <small>{file}</small>
      </h3>
      {answer.value && !answer.value.ok && (
        <p className="small" role="alert">
          {answer.value.problems.map(describeProblem).join(' ')}
        </p>
      )}
      {answer.problem && (
        <p className="small" role="alert">
          {answer.problem}
        </p>
      )}
      {shown && (
        <>
          <Shape preview={shown} onChange={(part) => setChoice({ ...start(shown), ...part })} />
          {namesDates(choice?.columns ?? choiceOf(shown)) && (
            <label className="labelled" style={{ marginTop: 8 }}>
              Zone of the stamps that name none
              <input
                className="field"
                value={zone}
                placeholder="UTC, +02:00"
                onChange={(event) => setZone(event.target.value)}
              />
            </label>
          )}
          <ol className="column-list">
            {shown.columns.map((column, index) => (
              <li key={column.column}>
                <span className="column-head">
                  <b>{column.heading || `column ${column.column}`}</b>
                  <span className="mono dim tiny">
                    {shown.rows
                      .slice(0, 3)
                      .map((row) => row[index] ?? '')
                      .join(' · ')}
                  </span>
                </span>
                <RoleSelect
                  label={`Column ${column.column}, ${column.heading}`}
                  value={(choice?.columns ?? choiceOf(shown))[column.column] ?? ''}
                  onPick={(picked) =>
                    setChoice({ ...start(shown), columns: choose(start(shown).columns, column.column, picked) })
                  }
                />
                <span className="inferred dim tiny">{column.reason}</span>
              </li>
            ))}
          </ol>
          <TrialWords trial={shown.trial} missing={shown.missing} />
        </>
      )}
      <p className="line-of" style={{ marginTop: 10 }}>
        <button type="button" className="button go" disabled={!shown?.text || answer.pending} onClick={take}>
          Read it so <kbd>Ctrl Enter</kbd>
        </button>
        <button type="button" className="button" onClick={onDone}>
          Leave it
        </button>
      </p>
    </section>
  );
}

/** Brings a chooser that was asked for into sight when it first has something to show. */
function useIntoSight(asked: boolean, preview: ColumnPreview | null): void {
  const there = preview !== null;
  useEffect(() => {
    if (asked && there) document.querySelector('.column-chooser')?.scrollIntoView({ block: 'nearest' });
  }, [asked, there]);
}

const DELIMITERS = ['comma', 'semicolon', 'tab', 'pipe', 'spaces'];

function Shape({
  preview,
  onChange,
}: {
  preview: ColumnPreview;
  onChange: (part: { delimiter?: string; skip?: number }) => void;
}): ReactNode {
  return (
    <div className="two-fields">
      <label className="labelled">
        Columns parted by
        <select
          className="field"
          value={preview.delimiter}
          onChange={(event) => onChange({ delimiter: event.target.value })}
        >
          {DELIMITERS.map((name) => (
            <option key={name}>{name}</option>
          ))}
        </select>
      </label>
      <label className="labelled">
        Lines before the first row
        <input
          className="field"
          type="number"
          min={0}
          max={1000}
          value={preview.skip}
          onChange={(event) => onChange({ skip: Math.max(0, Math.round(Number(event.target.value) || 0)) })}
        />
      </label>
    </div>
  );
}

function RoleSelect({
  label,
  value,
  onPick,
}: {
  label: string;
  value: string;
  onPick: (picked: string) => void;
}): ReactNode {
  return (
    <select className="field" aria-label={label} value={value} onChange={(event) => onPick(event.target.value)}>
      <option value="">not used</option>
      {CHOICES.map(({ title, choices }) => (
        <optgroup key={title} label={title}>
          {choices.map(([picked, words]) => (
            <option key={picked} value={picked}>
              {words}
            </option>
          ))}
        </optgroup>
      ))}
    </select>
  );
}

function TrialWords({ trial, missing }: { trial: ColumnTrial | null; missing: string | null }): ReactNode {
  if (!trial)
    return (
      <p className="small" role="status">
        Not complete yet: {missing}.
      </p>
    );
  const wrong = trial.rejected
    ? `; ${plural(trial.rejected, 'line')} rejected, first: ${trial.rejects[0]?.reason ?? ''}`
    : '';
  return (
    <p className="small" role="status" style={{ marginTop: 8 }}>
      <span className="dim">Read this way, the first {count(trial.lines)} lines give</span>{' '}
      {plural(trial.identifiers.length, 'identifier')} in {plural(trial.accepted, 'frame')} over {duration(trial.spanS)}
      {wrong}.
    </p>
  );
}
