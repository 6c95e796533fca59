/** Naming a field, from Payloads or Signals: name, unit, scale and offset, role, states where it has them. Enter keeps it. */
import { useMemo, useState, type FormEvent, type ReactNode } from 'react';
import { isByHand } from '../../../map/evidence.ts';
import type { MapSignal, SignalKind, SignalRole } from '../../../map/schema.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { kindWords } from '../../pictures/bands-words.ts';
import { Dialog } from '../../shell/Dialog.tsx';
import { useLinks } from '../../stores/asking.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import type { FrameKey } from '../payloads/decisions.ts';
import { addSignal, changeSignal, findSignal, namesTaken } from './dossier-signals.ts';
import { freeName } from './meaning-of.ts';
import { MeaningChoices } from './NamingPart.tsx';
import { nameProblem, numberTyped, rescaled, standingFrom, tidyName, withLiveLinks } from './naming.ts';

export const ROLES: readonly SignalRole[] = [
  'unknown',
  'command',
  'feedback',
  'limit',
  'enable',
  'fault',
  'state',
  'echo',
];
const KINDS: readonly SignalKind[] = ['number', 'states', 'flag', 'text'];
const STATES_MOST = 16;

interface NameDialogProps {
  readonly frame: FrameKey;
  readonly shownId: string;
  /** The field that gets the name; the signal itself when it already has one. */
  readonly field: MapSignal;
  /** Its present name; null for a field that has none. */
  readonly renames: string | null;
  readonly onClose: () => void;
}

interface Typed {
  readonly name: string;
  readonly unit: string;
  readonly scale: string;
  readonly offset: string;
  readonly kind: SignalKind;
  readonly role: SignalRole;
  readonly states: Readonly<Record<string, string>>;
}

/** What is typed, over the field it is about; null with what is wrong. */
function signalFrom(
  field: MapSignal,
  typed: Typed,
  capture: string | null,
): { readonly signal: MapSignal } | { readonly wrong: string } {
  const scale = numberTyped(typed.scale);
  const offset = numberTyped(typed.offset);
  if (scale === null || scale === 0) return { wrong: 'Scale is no number other than 0: write it like 0.5.' };
  if (offset === null) return { wrong: 'Offset is no number: write it like −40.' };
  const states = Object.fromEntries(Object.entries(typed.states).filter(([, words]) => words.trim()));
  const byHand = { kind: 'by-hand' as const, ...(capture ? { capture } : {}) };
  const evidence = isByHand(field) ? field.evidence : [...field.evidence, byHand];
  const signal: MapSignal = {
    ...rescaled(withoutReason(field), scale, offset),
    name: tidyName(typed.name),
    unit: typed.unit.trim(),
    kind: typed.kind,
    role: typed.role,
    states,
    evidence,
    standing: standingFrom(evidence),
  };
  return { signal };
}

/** The finder's reason belongs to the finding, not to the signal; what it observed is kept in raw units until scaled. */
function withoutReason(field: MapSignal): MapSignal {
  const { why: _why, ...signal } = field as MapSignal & { why?: unknown };
  return signal as MapSignal;
}

export function NameDialog({ frame, shownId, field, renames, onClose }: NameDialogProps): ReactNode {
  const [typed, setTyped] = useState<Typed>(() => ({
    name: renames ?? '',
    unit: field.unit,
    scale: String(field.scale).replace('-', '−'),
    offset: String(field.offset).replace('-', '−'),
    kind: field.kind,
    role: field.role,
    states: field.states,
  }));
  const [wrong, setWrong] = useState<string | null>(null);
  const dossier = useDossier((state) => state.dossier);
  const links = useLinks().value;
  const capture = useView((view) => view.captureId);
  const taken = useMemo(() => namesTaken(dossier, frame, renames), [dossier, frame, renames]);
  const problem = nameProblem(typed.name, taken);
  const tidy = tidyName(typed.name);
  const put = (part: Partial<Typed>): void => {
    setTyped((now) => ({ ...now, ...part }));
    setWrong(null);
  };
  const submit = (event: FormEvent): void => {
    event.preventDefault();
    if (problem) return setWrong(problem.message);
    const made = signalFrom(field, typed, capture);
    if ('wrong' in made) return setWrong(made.wrong);
    const { signal } = made;
    save(frame, renames, links ? withLiveLinks(signal, frame, links.actions, capture ?? '') : signal);
    onClose();
  };
  const length = field.length + (field.continues ?? []).reduce((sum, piece) => sum + piece.length, 0);
  return (
    <Dialog title={renames ? `Rename ${renames}` : 'Name it'} onClose={onClose}>
      <form className="signals-form" onSubmit={submit}>
        <p className="dim small wide">
          <span className="mono">{shownId}</span> {placeWords(field)}: {kindWords(field)}
        </p>
        <label className="labelled wide">
          name
          <input
            className="field"
            autoFocus
            autoComplete="off"
            spellCheck={false}
            value={typed.name}
            aria-invalid={wrong !== null && problem !== null}
            onChange={(event) => put({ name: event.target.value })}
          />
          {tidy && tidy !== typed.name && <span className="tiny dim">kept as {tidy}</span>}
        </label>
        <MeaningChoices field={{ ...field, ...frame }} put={(meaning) => put({ name: freeName(meaning, taken) })} />
        <label className="labelled">
          unit
          <input
            className="field"
            list="units-known"
            value={typed.unit}
            onChange={(event) => put({ unit: event.target.value })}
          />
        </label>
        <label className="labelled">
          kind
          <select
            className="field"
            value={typed.kind}
            onChange={(event) => put({ kind: event.target.value as SignalKind })}
          >
            {KINDS.map((kind) => (
              <option key={kind}>{kind}</option>
            ))}
          </select>
        </label>
        {typed.kind === 'number' && (
          <>
            <label className="labelled">
              scale
              <input
                className="field"
                inputMode="decimal"
                value={typed.scale}
                onChange={(event) => put({ scale: event.target.value })}
              />
            </label>
            <label className="labelled">
              offset
              <input
                className="field"
                inputMode="decimal"
                value={typed.offset}
                onChange={(event) => put({ offset: event.target.value })}
              />
            </label>
          </>
        )}
        <label className="labelled">
          role
          <select
            className="field"
            value={typed.role}
            onChange={(event) => put({ role: event.target.value as SignalRole })}
          >
            {ROLES.map((role) => (
              <option key={role}>{role}</option>
            ))}
          </select>
        </label>
        {(typed.kind === 'states' || typed.kind === 'flag') && 2 ** length <= STATES_MOST && (
          <fieldset className="signals-states wide">
            <legend className="small dim">states, by raw value; leave empty what you do not know</legend>
            {Array.from({ length: 2 ** length }, (_, raw) => (
              <label key={raw}>
                <span className="mono">{raw}</span>
                <input
                  className="field"
                  aria-label={`state ${raw}`}
                  value={typed.states[String(raw)] ?? ''}
                  onChange={(event) => put({ states: { ...typed.states, [String(raw)]: event.target.value } })}
                />
              </label>
            ))}
          </fieldset>
        )}
        <datalist id="units-known">
          {['rpm', 'km/h', 'V', 'A', 'kW', 'N m', '%', '°C', 'bar', 's', 'km', 'kWh'].map((unit) => (
            <option key={unit} value={unit} />
          ))}
        </datalist>
        {wrong && (
          <p className="wide signals-wrong" role="alert">
            {wrong}
          </p>
        )}
        <p className="wide line-of">
          <button type="submit" className="button go">
            {renames ? 'Keep' : 'Name it'} <kbd>Enter</kbd>
          </button>
          <button type="button" className="button" onClick={onClose}>
            Cancel <kbd>Esc</kbd>
          </button>
        </p>
      </form>
    </Dialog>
  );
}

function save(frame: FrameKey, renames: string | null, signal: MapSignal): void {
  const { change } = useDossier.getState();
  if (renames !== null && findSignal(useDossier.getState().dossier, frame, renames))
    change(`change ${signal.name}`, (dossier) => changeSignal(dossier, frame, renames, () => signal));
  else change(`name ${signal.name}`, (dossier) => addSignal(dossier, frame, signal));
  useView.getState().select({ signal: signal.name });
}
