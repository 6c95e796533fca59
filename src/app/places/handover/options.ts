/** What the files are made with: the person's choices, and the plan with what captures showed. The same for the place and its panel. */
import { cautionsFor } from '../../../handover/cautions.ts';
import type { HandoverOptions } from '../../../handover/handover-files.ts';
import type { SignalMap } from '../../../map/schema.ts';
import type { KeepAlivePlan } from '../../../handover/needs/types.ts';
import type { ReportProof } from '../../../handover/report/context.ts';
import type { ReportTraces } from '../../../handover/report/traces.ts';
import type { Dossier } from '../../../jobs/dossier.ts';
import { useDossier } from '../../stores/dossier.ts';
import { useView } from '../../stores/view.ts';
import { useProof } from '../proof/store.ts';
import { useCodeChoices, type CodeChoices } from './choices.ts';
import { usePlanned } from './plan/planned.ts';
import { useExtras } from './report/extras.ts';

let last: { from: readonly unknown[]; options: HandoverOptions } | null = null;

interface Known {
  readonly choices: CodeChoices;
  readonly plan: KeepAlivePlan | null;
  readonly traces: ReportTraces | null;
  readonly bench: Dossier['bench'] | null;
  readonly held: ReturnType<typeof useProof.getState>['held'];
  /** The capture that the map is made from. */
  readonly madeFrom: string | null;
}

const proofsOf = (held: Known['held'], madeFrom: string | null): readonly ReportProof[] =>
  Object.values(held)
    .filter((one) => one.madeFrom === madeFrom)
    .map(({ title, report }) => ({ title, frames: report.frames }));

function optionsFrom({ choices, plan, traces, bench, held, madeFrom }: Known): HandoverOptions {
  const { filters, ...code } = choices;
  return {
    ...code,
    ...(filters === null ? {} : { filters }),
    ...(plan ? { plan } : {}),
    report: { traces, bench: bench ?? null, proofs: proofsOf(held, madeFrom) },
  };
}

/** One object as long as nothing of it changes. */
export function useHandoverOptions(): HandoverOptions {
  const choices = useCodeChoices();
  const plan = usePlanned(({ plan: made }) => made);
  const traces = useExtras(({ traces: told }) => told);
  const bench = useDossier(({ dossier }) => dossier.bench);
  const held = useProof((state) => state.held);
  const madeFrom = useView(({ captureId }) => captureId);
  const from = [choices, plan, traces, bench, held, madeFrom];
  const isSame = last?.from.every((part, at) => part === from[at]);
  if (!last || !isSame) last = { from, options: optionsFrom({ choices, plan, traces, bench, held, madeFrom }) };
  return last.options;
}

let told: { map: SignalMap; release: HandoverOptions['release']; cautions: readonly string[] } | null = null;

/** What has to be read before anything of this map is sent: the same list as long as nothing of it changes. */
export function cautionsOf(map: SignalMap, { release }: HandoverOptions): readonly string[] {
  if (told?.map !== map || told.release !== release) told = { map, release, cautions: cautionsFor(map, release) };
  return told.cautions;
}
