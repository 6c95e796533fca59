/** Named signals in the dossier, as recipes: add, change, remove. A signal is found by its frame and name. */
import type { Dossier } from '../../../jobs/dossier.ts';
import type { MapSignal } from '../../../map/schema.ts';
import { isSameField, type PlacedField } from '../../pictures/bands-words.ts';
import type { FrameKey } from '../payloads/decisions.ts';
import { sameFrame } from '../payloads/decisions.ts';

export const signalsOfFrame = (dossier: Dossier, frame: FrameKey): MapSignal[] =>
  dossier.signals.filter((entry) => sameFrame(entry, frame)).map(({ signal }) => signal);

/** The signal that was named at this very place, or none. */
export const signalAt = (dossier: Dossier, field: PlacedField): MapSignal | undefined =>
  dossier.signals.find(({ bus, id, extended, signal }) => isSameField({ ...signal, bus, id, extended }, field))?.signal;

export const namesTaken = (dossier: Dossier, frame: FrameKey, except: string | null): string[] =>
  signalsOfFrame(dossier, frame)
    .map(({ name }) => name)
    .filter((name) => name !== except);

export function addSignal(dossier: Dossier, frame: FrameKey, signal: MapSignal): Dossier {
  const { bus, id, extended } = frame;
  return { ...dossier, signals: [...dossier.signals, { bus, id, extended, signal }] };
}

export function changeSignal(
  dossier: Dossier,
  frame: FrameKey,
  name: string,
  recipe: (signal: MapSignal) => MapSignal,
): Dossier {
  return {
    ...dossier,
    signals: dossier.signals.map((entry) =>
      sameFrame(entry, frame) && entry.signal.name === name ? { ...entry, signal: recipe(entry.signal) } : entry,
    ),
  };
}

export const removeSignal = (dossier: Dossier, frame: FrameKey, name: string): Dossier => ({
  ...dossier,
  signals: dossier.signals.filter((entry) => !(sameFrame(entry, frame) && entry.signal.name === name)),
});

export const findSignal = (dossier: Dossier, frame: FrameKey, name: string): MapSignal | undefined =>
  dossier.signals.find((entry) => sameFrame(entry, frame) && entry.signal.name === name)?.signal;
