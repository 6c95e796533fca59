/** What a field may mean, ranked with reasons: offered beside a named signal and in the dialog that names, and applied only by the person's hand. */
import { useEffect, type ReactNode } from 'react';
import type { FieldNaming } from '../../../draft/naming/types.ts';
import type { PlacedField } from '../../pictures/bands-words.ts';
import { useMeaning } from '../../stores/asking-meaning.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { changeSignal, namesTaken } from './dossier-signals.ts';
import type { SignalRow } from './held-signal.ts';
import { cutPercent, freeName, namingOf } from './meaning-of.ts';

const SHOWN = 3;

export const useNaming = (field: PlacedField | null): FieldNaming | null => {
  const report = useMeaning(field !== null).value;
  return field ? namingOf(report, field) : null;
};

/** Its name becomes the likeliest meaning, or the one given; unit and scale stay as they are. */
export function takeMeaning({ frame, signal }: SignalRow, meaning: string | undefined): void {
  if (!meaning) return;
  const { dossier, change } = useDossier.getState();
  const name = freeName(meaning, namesTaken(dossier, frame, signal.name));
  if (name === signal.name) return;
  change(`name ${name}`, (before) => changeSignal(before, frame, signal.name, (old) => ({ ...old, name })));
  useView.getState().select({ signal: name });
}

export function NamingPart({ row }: { row: SignalRow }): ReactNode {
  const naming = useNaming({ ...row.frame, ...row.signal });
  if (!naming) return null;
  const { candidates } = naming;
  return (
    <section className="panel-part">
      <h3>
        What it may mean <small>a help, not a finding</small>
      </h3>
      {candidates.length === 0 && <p className="small dim inferred">Nothing that is known here fits.</p>}
      <ol className="signals-meanings">
        {candidates.slice(0, SHOWN).map(({ meaning, unit, share, reasons }, index) => (
          <li key={meaning}>
            <p className="line-of">
              <i>{meaning}</i>
              <span className="small dim">
                right for {cutPercent(share)} of fields like it{unit && `; usually in ${unit}`}
              </span>
            </p>
            <p className="small dim inferred">{reasons.join('; ')}.</p>
            <p>
              <button type="button" className="button" onClick={() => takeMeaning(row, meaning)}>
                Take it as the name {index === 0 && <kbd>A</kbd>}
              </button>
            </p>
          </li>
        ))}
      </ol>
    </section>
  );
}

/** In the dialog: fills in the name, which is kept only when the person says so. */
export function MeaningChoices({ field, put }: { field: PlacedField; put: (meaning: string) => void }): ReactNode {
  const candidates = (useNaming(field)?.candidates ?? []).slice(0, SHOWN);
  useEffect(() => {
    const onKeyDown = (event: KeyboardEvent): void => {
      const meaning = event.altKey ? candidates[Number(event.code.replace('Digit', '')) - 1]?.meaning : undefined;
      if (!meaning) return;
      event.preventDefault();
      put(meaning);
    };
    window.addEventListener('keydown', onKeyDown);
    return () => window.removeEventListener('keydown', onKeyDown);
  });
  if (candidates.length === 0) return null;
  return (
    <p className="wide line-of small signals-choices">
      <span className="dim">it may be</span>
      {candidates.map(({ meaning, share }, index) => (
        <button key={meaning} type="button" className="button inferred" onClick={() => put(meaning)}>
          {meaning} <span className="dim">{cutPercent(share)}</span> <kbd>Alt {index + 1}</kbd>
        </button>
      ))}
    </p>
  );
}
