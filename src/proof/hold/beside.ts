/** What was recorded beside the capture and what its signals say of each other: references, marks, physical laws, each as aspects of signals. */
import type { FrameTable } from '../../frames/table.ts';
import { part, type Control } from '../../kit/control.ts';
import type { MapSignal } from '../../map/schema.ts';
import { diagnosticsOf } from '../../reference/diagnostics/report.ts';
import { holdAnswers } from './answers/hold-answers.ts';
import { countsReader } from './counts.ts';
import type { HeldSignal } from './held-signal.ts';
import { holdLaws } from './laws/hold-laws.ts';
import { holdReferences } from './references/hold-references.ts';
import type { GivenReference } from './references/readings.ts';
import type { ToldAspect } from './told.ts';
import type { ProofInput, ProofReport } from './types.ts';

export interface Beside extends Pick<ProofReport, 'references' | 'answers'> {
  readonly tellOf: (signal: MapSignal) => readonly ToldAspect[];
}

/** What a tester read is on the capture's own clock. */
function referencesOf(table: FrameTable, { reference }: ProofInput): GivenReference[] {
  const asked = diagnosticsOf(table).reference;
  return [...(reference ? [reference] : []), ...(asked.series.length > 0 ? [{ file: asked, offset: 0 }] : [])];
}

export async function heldBeside(input: ProofInput, signals: readonly HeldSignal[], control: Control): Promise<Beside> {
  const { table, marks, seed = 1 } = input;
  const given = referencesOf(table, input);
  const countsFor = countsReader(table.endUs / 1e6);
  const scales = await holdReferences(given, table, signals, countsFor, seed, part(control, 0, 0.5));
  const laws = await holdLaws(signals, countsFor, scales.aspects, part(control, 0.5, 0.6));
  const answers = marks ? await holdAnswers(marks, table, signals, seed, part(control, 0.6, 1)) : null;
  const all = [scales.aspects, laws, ...(answers ? [answers.aspects] : [])];
  return {
    tellOf: (signal) => all.flatMap((aspects) => aspects.get(signal) ?? []),
    ...(given.length > 0 ? { references: scales.references } : {}),
    ...(answers ? { answers: answers.answers } : {}),
  };
}
