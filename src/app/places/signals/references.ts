/** Known quantities of the open capture: imported from a file, or typed at the cursor; as recipes over the dossier. */
import type { Dossier, DossierCapture } from '../../../jobs/dossier.ts';
import type { ReferenceFile } from '../../../reference/types.ts';
import { withCapture } from '../../stores/dossier.ts';

export type KeptReference = DossierCapture['references'][number];

/** What may be fitted against: kept in the dossier, or answered to a tester in the capture itself and so never kept. */
export interface ShownReference {
  readonly name: string;
  readonly unit: string;
  readonly timeBase: KeptReference['timeBase'];
  readonly timeS: readonly number[];
  readonly value: readonly number[];
  readonly from: KeptReference['from'] | 'diagnostics';
}

export const referenceKey = ({ name, unit, from }: Pick<ShownReference, 'name' | 'unit' | 'from'>): string =>
  `${from} ${name} [${unit}]`;

/** Series that the fit analysis takes; typed readings get a line of their own. */
export const isSeries = ({ from }: Pick<ShownReference, 'from'>): boolean => from !== 'typed';

/** Answers to a tester, as references on the capture's own clock. */
export const fromDiagnostics = ({ series, timeBase }: ReferenceFile): ShownReference[] =>
  series.map(({ name, unit, timeS, value }) => ({
    name,
    unit,
    timeBase,
    timeS: [...timeS],
    value: [...value],
    from: 'diagnostics',
  }));

/** A file's series take the place of earlier ones of the same name and unit. */
export function addReferenceFile(dossier: Dossier, capture: string, file: ReferenceFile): Dossier {
  const added: KeptReference[] = file.series
    .filter(({ value }) => value.length > 0)
    .map(({ name, unit, timeS, value }) => ({
      name,
      unit,
      timeBase: file.timeBase,
      timeS: [...timeS],
      value: [...value],
      from: 'file' as const,
    }));
  const keys = new Set(added.map(referenceKey));
  return withCapture(dossier, capture, (entry) => ({
    ...entry,
    references: [...entry.references.filter((old) => !keys.has(referenceKey(old))), ...added],
  }));
}

/** One meter reading, in capture time, kept in the order of time. */
export function addReading(
  dossier: Dossier,
  capture: string,
  quantity: { readonly name: string; readonly unit: string },
  reading: { readonly atS: number; readonly value: number },
): Dossier {
  return withCapture(dossier, capture, (entry) => {
    const typed = (old: KeptReference): boolean => old.from === 'typed' && old.name === quantity.name;
    const before = entry.references.find(typed);
    const pairs = (before?.timeS ?? []).map((timeS, index) => ({ timeS, value: before?.value[index] ?? Number.NaN }));
    const all = [
      ...pairs.filter(({ timeS }) => timeS !== reading.atS),
      { timeS: reading.atS, value: reading.value },
    ].sort((a, b) => a.timeS - b.timeS);
    const now: KeptReference = {
      ...quantity,
      timeBase: 'capture',
      timeS: all.map(({ timeS }) => timeS),
      value: all.map(({ value }) => value),
      from: 'typed',
    };
    return { ...entry, references: [...entry.references.filter((old) => !typed(old)), now] };
  });
}

export function removeReading(dossier: Dossier, capture: string, name: string, index: number): Dossier {
  const without = (list: readonly number[]): number[] => list.filter((_, place) => place !== index);
  return withCapture(dossier, capture, (entry) => ({
    ...entry,
    references: entry.references
      .map((old) =>
        old.from === 'typed' && old.name === name
          ? { ...old, timeS: without(old.timeS), value: without(old.value) }
          : old,
      )
      .filter(({ timeS }) => timeS.length > 0),
  }));
}

/** Every series of the chosen one's source that shares its time base, as one file to fit against. */
export function fileOf(references: readonly ShownReference[], chosen: ShownReference): ReferenceFile {
  return {
    timeBase: chosen.timeBase,
    series: references
      .filter(({ from, timeBase }) => from === chosen.from && timeBase === chosen.timeBase)
      .map(({ name, unit, timeS, value }) => ({
        name,
        unit,
        timeS: Float64Array.from(timeS),
        value: Float64Array.from(value),
      })),
  };
}
