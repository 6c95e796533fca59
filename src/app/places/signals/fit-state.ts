/**
 * The fit of the signal that is held: to a reference file as the analysis found it, or a line through the readings
 * typed at the cursor; with what is left over at each reading, and the other fields that fit the same quantity.
 */
import { useMemo } from 'react';
import type { Fit, FitReport, ReferenceClock, ReferenceFile } from '../../../reference/types.ts';
import { alignReference } from '../../../reference/reference-file.ts';
import { isSameField } from '../../pictures/bands-words.ts';
import { useFits } from '../../stores/asking.ts';
import { useDiagnostics } from '../../stores/diagnostics.ts';
import { useCurrentCapture, type Finding } from '../../stores/finding.ts';
import { useSamples } from '../payloads/asking.ts';
import { rawRequestOf } from '../payloads/trace-request.ts';
import type { SignalRow } from './held-signal.ts';
import { fileOf, fromDiagnostics, isSeries, referenceKey, type ShownReference } from './references.ts';
import { residualsOf, type FitLine, type Residual } from './residuals.ts';
import { useSignals } from './store.ts';
import { lineThrough, type Line } from './typed-fit.ts';

export interface FitState {
  readonly references: readonly ShownReference[];
  readonly chosen: ShownReference | null;
  readonly report: Finding<FitReport>;
  /** The line through the chosen quantity; null while there is none. */
  readonly line: (Line & FitLine & { readonly lagS: number }) | null;
  /** The same as the analysis found it; null for readings typed at the cursor. */
  readonly fit: Fit | null;
  readonly residuals: readonly Residual[];
  /** Readings of the chosen quantity in capture time. */
  readonly atS: readonly number[];
  /** Other fields that fit it, best first. */
  readonly others: readonly Fit[];
  readonly clockOffsetS: number;
  /** The clock of the reference files; null where the readings are on the capture's own. */
  readonly clock: ReferenceClock | null;
  /** What is fitted against, with all of the same source. */
  readonly file: ReferenceFile | null;
}

const isOf = (fit: Fit, { frame, signal }: SignalRow): boolean => isSameField(fit, { ...frame, ...signal });

const NO_REFERENCES: readonly ShownReference[] = [];

export function useFitState(row: SignalRow | null): FitState {
  const current = useCurrentCapture();
  const kept = current?.entry.references ?? NO_REFERENCES;
  const answered = useDiagnostics().value?.reference ?? null;
  const references = useMemo<readonly ShownReference[]>(
    () => [...kept, ...(answered ? fromDiagnostics(answered) : [])],
    [kept, answered],
  );
  const wanted = useSignals((state) => state.quantity);
  const series = useMemo(() => references.filter(isSeries), [references]);
  const base = useMemo(() => {
    const held = references.find((reference) => referenceKey(reference) === wanted);
    return held && isSeries(held) ? held : (series[0] ?? null);
  }, [references, series, wanted]);
  const file = useMemo(() => (base ? fileOf(references, base) : null), [references, base]);
  const byHand = current?.entry.referenceOffset ?? 'auto';
  const report = useFits(file, base?.from === 'diagnostics' ? 0 : byHand);
  const chosen = useMemo(() => choose(references, wanted, row, report.value), [references, wanted, row, report.value]);
  const quantity =
    chosen && isSeries(chosen) ? report.value?.quantities.find(({ name }) => name === chosen.name) : undefined;
  const fit = row ? (quantity?.fits.find((candidate) => isOf(candidate, row)) ?? null) : null;
  const clockOffsetS = chosen && isSeries(chosen) ? (report.value?.clockOffsetS ?? 0) : 0;
  const origin = current?.open.summary?.origin.text ?? '0';
  const atS = useMemo(() => instantsOf(chosen, origin, clockOffsetS), [chosen, origin, clockOffsetS]);
  const lagS = fit?.lagS ?? 0;
  const request = useMemo(
    () => (row && chosen ? { ...rawRequestOf(row.request), coding: fit?.coding ?? row.request.coding } : null),
    [row, chosen, fit],
  );
  const instants = useMemo(() => atS.map((at) => at + lagS), [atS, lagS]);
  const samples = useSamples(request, instants);
  const raw = samples.pending ? null : samples.value;
  return useMemo(() => {
    const typed = chosen?.from === 'typed' && raw ? lineThrough(pairs(raw, chosen.value)) : null;
    const line = fit ? { ...fit, lagS } : typed ? { ...typed, lagS: 0 } : null;
    const residuals = chosen && raw && line ? residualsOf(atS, chosen.value, raw, line) : [];
    const others = quantity && row ? quantity.fits.filter((candidate) => !isOf(candidate, row)) : [];
    const clock = base?.from === 'file' ? (report.value?.clock ?? null) : null;
    return { references, chosen, report, line, fit, residuals, atS, others, clockOffsetS, clock, file };
  }, [references, base, file, chosen, report, fit, raw, atS, quantity, row, lagS, clockOffsetS]);
}

const pairs = (raw: ArrayLike<number>, physical: readonly number[]): { raw: number; physical: number }[] =>
  physical.map((value, index) => ({ raw: raw[index] as number, physical: value }));

/** The one asked for; else readings typed for this signal; else the quantity that it fits best. */
function choose(
  references: readonly ShownReference[],
  wanted: string | null,
  row: SignalRow | null,
  report: FitReport | null,
): ShownReference | null {
  const asked = references.find((reference) => referenceKey(reference) === wanted);
  if (asked || !row) return asked ?? null;
  const own = references.find(({ from, name }) => from === 'typed' && name === row.signal.name);
  if (own) return own;
  let best: { name: string; r2: number } | null = null;
  for (const { name, fits } of report?.quantities ?? []) {
    const fit = fits.find((candidate) => isOf(candidate, row));
    if (fit && (!best || fit.r2 > best.r2)) best = { name, r2: fit.r2 };
  }
  return references.find((each) => isSeries(each) && each.name === best?.name) ?? null;
}

function instantsOf(chosen: ShownReference | null, origin: string, clockOffsetS: number): number[] {
  if (!chosen) return [];
  const series = {
    name: chosen.name,
    unit: chosen.unit,
    timeS: Float64Array.from(chosen.timeS),
    value: Float64Array.from(chosen.value),
  };
  const [aligned] = alignReference({ timeBase: chosen.timeBase, series: [series] }, origin);
  return [...(aligned?.timeS ?? [])].map((at) => at + clockOffsetS);
}
