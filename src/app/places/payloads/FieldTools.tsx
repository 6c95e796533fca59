/** What may be done with the field that is held: its order, its coding, keep it, name it, refuse it, and its trace. */
import { useMemo, type ReactNode } from 'react';
import type { ByteOrder, Coding } from '../../../frames/bits.ts';
import { bitPositions } from '../../../frames/bits.ts';
import type { MapSignal } from '../../../map/schema.ts';
import { placeWords } from '../../../fields/place-words.ts';
import { kindWords, placementKey } from '../../pictures/bands-words.ts';
import { isGuard, type Band } from '../../pictures/bands-model.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { useKeys, type KeyGroup } from '../../shell/keys.ts';
import { say } from '../../shell/notices.ts';
import { placeField, refuseField, takeBack } from './decisions.ts';
import { letGo, type Held } from './held.ts';
import { keepFocus, WEAVE } from './keep-focus.ts';
import { usePayloads } from './store.ts';
import { otherOrder } from './sweep.ts';

const CODINGS: readonly Coding[] = ['unsigned', 'signed', 'sign-magnitude', 'float', 'bcd'];

/** Codings that a field of this many bits can have. */
const codingsFor = (bits: number): readonly Coding[] =>
  CODINGS.filter((coding) => {
    if (coding === 'float') return bits === 32;
    if (coding === 'bcd') return bits % 4 === 0;
    return coding === 'unsigned' || bits > 1;
  });

/** F: keeps what is being tried as a field; with nothing tried, begins a sweep at the thread or the field held. */
export function makeField(held: Held): void {
  const { frame, tried, stream } = held;
  if (!frame || !stream) return;
  if (tried) {
    const { lsb, length, order, coding } = tried;
    useDossier
      .getState()
      .change(`make field ${placeWords(tried)}`, (dossier) => placeField(dossier, frame, tried, coding));
    usePayloads.getState().set({ sweep: null, bandKey: placementKey(tried) });
    useView.getState().select({ placement: { lsb, length, order } });
    keepFocus(WEAVE);
    return;
  }
  const bits = held.placement ? bitPositions(held.placement) : [];
  const { thread, set } = usePayloads.getState();
  const anchor = bits.at(-1) ?? (thread >= 0 ? thread : 7);
  const head = bits[0] ?? anchor;
  set({
    sweep: { anchor, head },
    thread: head,
    order: held.placement?.order ?? 'big',
    coding: held.value?.coding ?? 'unsigned',
    bandKey: null,
  });
  useView.getState().select({ placement: null });
  document.querySelector<HTMLElement>(WEAVE)?.focus();
}

function refuse(held: Held): void {
  const { frame, band, tried } = held;
  keepFocus(WEAVE);
  if (tried) return letGo();
  if (!frame || !band) return say('Hold a field first: click its band or its threads.');
  if (band.signal) return say(`${band.signal.name} is named: take its name away in Signals before refusing the field.`);
  if (band.refused || band.byHand)
    useDossier
      .getState()
      .change(`take back ${band.name}`, (dossier) =>
        takeBack(dossier, frame, band.placement, isGuard(band) ? band.when : undefined),
      );
  else useDossier.getState().change(`refuse ${band.name}`, (dossier) => refuseField(dossier, frame, band.placement));
  letGo();
}

function keepTrace(held: Held): void {
  const { stream, value } = held;
  if (!stream || !value) return;
  const key = `${stream.bus} ${stream.id} ${placementKey(value, value.when)}`;
  const { kept, keep, letGo: release } = usePayloads.getState();
  if (kept.some((trace) => trace.key === key)) release(key);
  else keep({ key, stream, value, label: held.band?.name || placeWords(value) });
}

function nameHeld(held: Held): void {
  if (!held.value) return say('Hold a field first: click its band or its threads, or sweep over threads.');
  usePayloads.getState().set({ naming: true });
}

export function useFieldKeys(held: Held): void {
  const group = useMemo<KeyGroup>(
    () => ({
      title: 'Payloads',
      bindings: [
        { key: 'f', says: held.tried ? 'keep the swept field' : 'make a field', run: () => makeField(held) },
        { key: 'n', says: 'name the field', run: () => nameHeld(held) },
        { key: 'x', says: 'refuse the field, or take it back', run: () => refuse(held) },
        { key: 'o', says: 'the other byte order', run: () => turnOrder(held) },
        { key: 'c', says: 'the next coding', run: () => turnCoding(held) },
        { key: 'k', says: 'keep or let go of its trace', run: () => keepTrace(held) },
        { key: 'v', says: 'show set or changed', run: toggleShows },
        {
          key: '/',
          says: 'find an identifier',
          run: () => document.querySelector<HTMLElement>('.payloads-identifiers input')?.focus(),
        },
        { key: 'Escape', says: 'let go', run: letGo },
      ],
    }),
    [held],
  );
  useKeys(group);
}

const toggleShows = (): void => {
  const { shows, set } = usePayloads.getState();
  set({ shows: shows === 'set' ? 'changed' : 'set' });
};

/** Tries another order or coding: a proposal becomes a field being tried, the proposal itself stays as it was. */
function attempt(value: MapSignal, order: ByteOrder, coding: Coding): void {
  const placement = order === value.order ? value : otherOrder(value);
  const bits = bitPositions(placement);
  const low = bits[0] as number;
  const high = bits.at(-1) as number;
  usePayloads
    .getState()
    .set({ sweep: { anchor: high, head: low }, order: placement.order, coding, thread: low, bandKey: null });
  useView.getState().select({ placement: null });
}

function turnOrder({ value }: Held): void {
  if (value && !value.continues?.length) attempt(value, value.order === 'big' ? 'little' : 'big', value.coding);
}

function turnCoding({ value, band }: Held): void {
  if (!value || value.continues?.length) return;
  if (band && isGuard(band)) return say('A guard is computed, not read: it has no coding to change.');
  const codings = codingsFor(value.length);
  attempt(value, value.order, codings[(codings.indexOf(value.coding) + 1) % codings.length] ?? 'unsigned');
}

/** What to do where no one value is held. */
function askingWords(band: Band | null): string {
  if (band?.refused) return `${band.name} was refused by hand.`;
  if (band?.pages.length)
    return `${band.name} changes its meaning: choose one of its pages to trace, name or refuse it.`;
  return 'Click a band or a thread to hold a field; drag down over threads to make one of your own.';
}

export function FieldTools({ held }: { held: Held }): ReactNode {
  const { band, tried, value } = held;
  if (!value)
    return (
      <p className="payloads-tools dim small">
        {askingWords(band)}
        {band?.refused && (
          <button type="button" className="button" onClick={() => refuse(held)}>
            Take it back <kbd>X</kbd>
          </button>
        )}
      </p>
    );
  const pieces = Boolean(value.continues?.length);
  const oneByte = new Set(bitPositions(value).map((bit) => bit >> 3)).size === 1;
  return (
    <div className="payloads-tools line-of">
      <span className="payloads-tools-name">
        <b className="held">{tried ? placeWords(tried) : band?.name}</b>{' '}
        <span className="dim small">
          {band && (isGuard(band) || band.glyph === 'triangle') ? band.words : kindWords(value)}
        </span>
      </span>
      {!oneByte && !pieces && (
        <span className="switch" role="group" aria-label="Byte order">
          {(['little', 'big'] as const).map((order) => (
            <button
              key={order}
              type="button"
              aria-pressed={value.order === order}
              onClick={() => attempt(value, order, value.coding)}
            >
              {order}
            </button>
          ))}
        </span>
      )}
      {!pieces && value.kind !== 'flag' && !(band && isGuard(band)) && (
        <select
          className="field"
          aria-label="Coding"
          value={value.coding}
          onChange={(event) => attempt(value, value.order, event.target.value as Coding)}
        >
          {codingsFor(value.length).map((coding) => (
            <option key={coding}>{coding}</option>
          ))}
        </select>
      )}
      {tried && (
        <button type="button" className="button go" onClick={() => makeField(held)}>
          Keep field <kbd>F</kbd>
        </button>
      )}
      <button type="button" className="button" onClick={() => nameHeld(held)}>
        {band?.signal ? 'Rename' : 'Name it'} <kbd>N</kbd>
      </button>
      <button type="button" className="button" onClick={() => refuse(held)}>
        {tried ? 'Let go' : band?.byHand ? 'Take back' : 'Refuse'} <kbd>X</kbd>
      </button>
      {!tried && (
        <button type="button" className="button" onClick={() => keepTrace(held)}>
          Keep trace <kbd>K</kbd>
        </button>
      )}
    </div>
  );
}
