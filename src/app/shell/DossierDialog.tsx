/** The dossier as a thing: what the part is, and keeping it in, or opening it from, one file. */
import { useState, type ReactNode } from 'react';
import { dossierSchema, emptyDossier, type Dossier } from '../../jobs/dossier.ts';
import { useDossier } from '../stores/dossier.ts';
import { useView } from '../stores/view.ts';
import { useTheme } from '../theme/theme.ts';
import { wallClock } from '../words/wall-clock.ts';
import { Dialog } from './Dialog.tsx';
import { fileStem, pickFiles, saveAs } from './files.ts';

const saveDossier = (dossier: Dossier): void =>
  saveAs(
    `${fileStem(dossier.part.title, 'dossier')}.dossier.json`,
    JSON.stringify(dossier, null, 1),
    'application/json',
  );

/** The dossier in a text, or in words why it is none. */
export function parseDossier(name: string, text: string): { readonly dossier: Dossier } | { readonly problem: string } {
  let json: unknown;
  try {
    json = JSON.parse(text);
  } catch (error) {
    return {
      problem: `${name} is not JSON (${error instanceof Error ? error.message : String(error)}). Choose a file that was saved from here.`,
    };
  }
  const parsed = dossierSchema.safeParse(json);
  if (parsed.success) return { dossier: parsed.data };
  const issue = parsed.error.issues[0];
  return {
    problem: `${name} is not a dossier: at "${issue?.path.join('.') ?? ''}", ${issue?.message ?? 'unknown'}. What is open here was not changed.`,
  };
}

const FIELDS = [
  ['title', 'Part', 'drive unit and pack'],
  ['donor', 'Donor', 'make, model, how it ended'],
  ['destination', 'For', 'what it will drive next'],
] as const;

export function DossierDialog({ onClose }: { onClose: () => void }): ReactNode {
  const { dossier, savedAt, saveProblem, change, open } = useDossier();
  const [problem, setProblem] = useState<string | null>(null);
  const openFile = async (): Promise<void> => {
    const [file] = await pickFiles('.json', false);
    if (!file) return;
    const parsed = parseDossier(file.name, await file.text());
    if ('problem' in parsed) return setProblem(parsed.problem);
    open(parsed.dossier, 'open dossier');
    onClose();
  };
  return (
    <Dialog title="Dossier" onClose={onClose}>
      <div style={{ display: 'grid', gap: 12 }}>
        {FIELDS.map(([name, label, example]) => (
          <label key={name} className="labelled">
            {label}
            <input
              className="field"
              value={dossier.part[name]}
              placeholder={example}
              onChange={(event) =>
                change(`edit ${label.toLowerCase()}`, setPart(name, event.target.value), `part-${name}`)
              }
            />
          </label>
        ))}
        <label className="labelled">
          Notes
          <textarea
            className="field"
            rows={3}
            value={dossier.part.notes}
            onChange={(event) => change('edit notes', setPart('notes', event.target.value), 'part-notes')}
          />
        </label>
        <p className="small dim">
          {saveProblem ??
            (savedAt
              ? `Saved by itself at ${wallClock(savedAt)}, in this browser, on this machine.`
              : 'Saves itself in this browser with every change.')}{' '}
          The file holds what you decided: marks, names, readings. Capture files stay where they are.
        </p>
        <ThemeChoice />
        {problem && (
          <p role="alert" className="small">
            {problem}
          </p>
        )}
        <div className="line-of">
          <button type="button" className="button go" onClick={() => saveDossier(dossier)}>
            Save to a file
          </button>
          <button type="button" className="button" onClick={() => void openFile()}>
            Open a file
          </button>
          <button
            type="button"
            className="button"
            onClick={() => {
              open(emptyDossier(), 'start a new dossier');
              useView.getState().go('captures');
              onClose();
            }}
          >
            Start a new one
          </button>
          <span className="spring" />
          <button type="button" className="button" onClick={onClose}>
            Close <kbd>Esc</kbd>
          </button>
        </div>
        <p className="small dim inferred">
          Opening another or starting anew can be undone with Ctrl Z until the page is closed.
        </p>
      </div>
    </Dialog>
  );
}

const THEMES = [
  ['system', 'as the system'],
  ['paper', 'paper'],
  ['night', 'night'],
] as const;

function ThemeChoice(): ReactNode {
  const { choice, choose } = useTheme();
  return (
    <div className="line-of small dim">
      Sheet
      <span className="switch" role="group" aria-label="Sheet">
        {THEMES.map(([name, words]) => (
          <button key={name} type="button" aria-pressed={choice === name} onClick={() => choose(name)}>
            {words}
          </button>
        ))}
      </span>
    </div>
  );
}

const setPart =
  (name: 'title' | 'donor' | 'destination' | 'notes', value: string) =>
  (dossier: Dossier): Dossier => ({ ...dossier, part: { ...dossier.part, [name]: value } });
