/** Signals: what does it mean? */
import './signals.css';
import { useMemo, useState, type ReactNode } from 'react';
import { displayId } from '../../../kit/units.ts';
import { useCurrentCapture } from '../../stores/finding.ts';
import { useDossier } from '../../stores/dossier.ts';
import { proofsFor, takenProofs, withTaken } from '../../stores/proofs.ts';
import { useView } from '../../stores/view.ts';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { Row, TimeSheet } from '../../shell/TimeSheet.tsx';
import { Picture } from '../../surface/Picture.tsx';
import { fixed, plural } from '../../../kit/sheet-figures.ts';
import type { PlaceDefinition } from '../place.ts';
import { useActionsShown, type ActionsShown } from '../payloads/actions-shown.ts';
import { MarksInView } from '../payloads/MarksInView.tsx';
import { Asked } from './Asked.tsx';
import { importReference, noteFit, takeFit } from './FitPart.tsx';
import { useFitState, type FitState } from './fit-state.ts';
import { useHeldSignal, useSignalRows, type SignalRow } from './held-signal.ts';
import { NameDialog } from './NameDialog.tsx';
import { takeMeaning, useNaming } from './NamingPart.tsx';
import { takeRole, useRole } from './RolePart.tsx';
import { residualScene } from './residual-scene.ts';
import { spreadOf } from './residuals.ts';
import { SignalRows } from './SignalRows.tsx';
import { SignalsPanel } from './SignalsPanel.tsx';
import { StateNames } from './StateNames.tsx';
import { hasStates } from './state-runs.ts';
import { useSignals } from './store.ts';
import { Unnamed, useSuggestions, type Suggestion } from './Unnamed.tsx';

const HEAD_HEIGHT = 24;
const RESIDUAL_HEIGHT = 190;

function Place(): ReactNode {
  const rows = useSignalRows();
  const held = useHeldSignal(rows);
  const suggestions = useSuggestions();
  const [naming, setNaming] = useState<Suggestion | null>(null);
  const renaming = useSignals((state) => state.naming);
  const state = useFitState(held);
  useSignalKeys(held, state, () =>
    held ? useSignals.getState().set({ naming: true }) : setNaming(suggestions[0] ?? null),
  );
  return (
    <div className="signals">
      {rows.length > 0 ? <Sheet rows={rows} held={held} state={state} /> : <Nothing some={suggestions.length > 0} />}
      <Unnamed suggestions={suggestions} name={setNaming} />
      <Asked held={held} />
      {naming && (
        <NameDialog
          frame={frameOf(naming)}
          shownId={naming.row.id}
          field={naming.field}
          renames={null}
          onClose={() => setNaming(null)}
        />
      )}
      {renaming && held && (
        <NameDialog
          frame={held.frame}
          shownId={displayId(held.stream.id, held.stream.extended)}
          field={held.signal}
          renames={held.signal.name}
          onClose={() => useSignals.getState().set({ naming: false })}
        />
      )}
    </div>
  );
}

const frameOf = ({ row }: Suggestion): { bus: string; id: string; extended: boolean } => {
  const { bus, id, extended } = row.link;
  return { bus, id, extended };
};

function useSignalKeys(held: SignalRow | null, state: FitState, name: () => void): void {
  const role = useRole(held);
  const meaning = useNaming(held && { ...held.frame, ...held.signal })?.candidates[0]?.meaning;
  const group = useMemo<KeyGroup>(
    () => ({
      title: 'Signals',
      bindings: [
        { key: 'n', says: held ? 'rename the signal' : 'name the strongest answer', run: name },
        { key: 'i', says: 'import readings to fit against', run: () => void importReference() },
        { key: 'e', says: 'note the fit as evidence', run: () => held && noteFit(held, state) },
        {
          key: 'a',
          says: 'take the likeliest meaning as its name',
          run: () => held && takeMeaning(held, meaning),
        },
        { key: 'r', says: 'take the part that was found', run: () => held && takeRole(held, role) },
        { key: 'u', says: 'use the fit', run: () => held && takeFit(held, state, false) },
        {
          key: 's',
          says: 'name its states',
          run: () => document.querySelector<HTMLElement>('.signals-state input')?.focus(),
        },
        {
          key: 't',
          says: 'type a meter reading at the cursor',
          run: () => document.querySelector<HTMLElement>('.signals-reading')?.focus(),
        },
        {
          key: 'l',
          says: 'go to the list',
          run: () => document.querySelector<HTMLElement>('.signals-label[aria-pressed="true"]')?.focus(),
        },
      ],
    }),
    [held, state, name, role, meaning],
  );
  useKeys(group);
}

function Sheet({
  rows,
  held,
  state,
}: {
  rows: readonly SignalRow[];
  held: SignalRow | null;
  state: FitState;
}): ReactNode {
  const shown = useActionsShown();
  return (
    <TimeSheet className="signals-sheet">
      <Row
        label={
          <div className="signals-heads tiny dimmer">
            <span>signal</span>
            <span>unit</span>
          </div>
        }
      >
        <MarksInView heads={shown.heads} height={HEAD_HEIGHT} />
      </Row>
      <SignalRows rows={rows} held={held} columns={shown.columns} />
      {held && hasStates(held.signal) && <StateNames row={held} columns={shown.columns} />}
      {held && state.residuals.length > 0 && <Residuals row={held} state={state} shown={shown} />}
    </TimeSheet>
  );
}

function Residuals({ row, state, shown }: { row: SignalRow; state: FitState; shown: ActionsShown }): ReactNode {
  const window = useView((view) => view.window);
  const { residuals, chosen } = state;
  const scene = useMemo(
    () => residualScene({ window, residuals, columns: shown.columns }),
    [window, residuals, shown.columns],
  );
  const spread = spreadOf(residuals);
  return (
    <Row
      className="signals-residuals"
      label={
        <div className="signals-part">
          <b>residuals</b>
          <span className="dim tiny">
            {chosen?.name} less what {row.signal.name} gives{chosen?.unit ? `, in ${chosen.unit}` : ''}
          </span>
          {spread === spread && (
            <span className="dim tiny">
              two in three within {fixed(spread, Math.max(0, 1 - Math.floor(Math.log10(spread || 1))))} {chosen?.unit}
            </span>
          )}
        </div>
      }
    >
      <Picture label="Residuals over time" height={RESIDUAL_HEIGHT} scene={scene} />
    </Row>
  );
}

function Nothing({ some }: { some: boolean }): ReactNode {
  const current = useCurrentCapture();
  const to = current ? 'payloads' : 'captures';
  return (
    <div className="past-gutter need signals-nothing">
      <p>
        {!current
          ? 'Nothing is named, and no recording is open.'
          : some
            ? 'Nothing is named yet. The fields below answer what was marked: name one, and it becomes a signal.'
            : 'Nothing is named yet. In Payloads, hold a field that moves and press N to give it a name.'}
      </p>
      <button type="button" className="button" onClick={() => useView.getState().go(to)}>
        {current ? 'Go to Payloads' : 'Go to Captures'} <kbd>{current ? '4' : '1'}</kbd>
      </button>
    </div>
  );
}

function Controls(): ReactNode {
  const undo = useDossier((state) => state.past.at(-1)?.label);
  const redo = useDossier((state) => state.future.at(-1)?.label);
  const named = useDossier(({ dossier }) => dossier.signals.length > 0);
  const { undo: back, redo: again } = useDossier.getState();
  return (
    <>
      {named && (
        <button type="button" className="button" onClick={() => useSignals.getState().set({ naming: true })}>
          Rename <kbd>N</kbd>
        </button>
      )}
      <button type="button" className="button signals-undo" disabled={!undo} title={undo} onClick={back}>
        Undo <kbd>Ctrl Z</kbd>
        <span className="unseen">{undo}</span>
      </button>
      <button type="button" className="button signals-undo" disabled={!redo} title={redo} onClick={again}>
        Redo <kbd>Ctrl Y</kbd>
        <span className="unseen">{redo}</span>
      </button>
    </>
  );
}

function useLine(): string {
  const named = useDossier(({ dossier }) => dossier.signals);
  const taken = useDossier(({ dossier }) => takenProofs(dossier));
  const capture = useView(({ captureId }) => captureId);
  const signals = useMemo(() => {
    const proofs = proofsFor(taken, capture === null ? [] : [capture]);
    return named.map((one) => ({ signal: withTaken(one.signal, one, proofs) }));
  }, [named, taken, capture]);
  if (signals.length === 0) return 'none named';
  const proven = signals.filter(({ signal }) => signal.standing === 'proven').length;
  const supported = signals.filter(({ signal }) => signal.standing === 'supported').length;
  return `${plural(signals.length, 'named', 'named')}, ${proven ? `${proven} proven` : `${supported} supported`}`;
}

export const place: PlaceDefinition = {
  name: 'signals',
  title: 'Signals',
  question: 'What does it mean?',
  showsTime: true,
  Place,
  Panel: SignalsPanel,
  Controls,
  useLine,
};
