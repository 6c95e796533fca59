/** Meter readings as steps of the dossier that can be undone. */
import { useDossier } from '../../stores/dossier.ts';
import { addReading, removeReading } from './references.ts';

export const addReadingTo = (
  capture: string,
  quantity: { readonly name: string; readonly unit: string },
  reading: { readonly atS: number; readonly value: number },
): void =>
  useDossier
    .getState()
    .change(`reading of ${quantity.name}`, (dossier) => addReading(dossier, capture, quantity, reading));

export const removeReadingFrom = (capture: string, name: string, index: number): void =>
  useDossier
    .getState()
    .change(`remove a reading of ${name}`, (dossier) => removeReading(dossier, capture, name, index));
