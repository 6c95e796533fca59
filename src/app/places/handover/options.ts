/** What the files are made with: the person's choices, and the plan with what captures showed. The same for the place and its panel. */
import type { HandoverOptions } from '../../../handover/handover-files.ts';
import type { KeepAlivePlan } from '../../../handover/needs/types.ts';
import type { ReportTraces } from '../../../handover/report/traces.ts';
import { useCodeChoices, type CodeChoices } from './choices.ts';
import { usePlanned } from './plan/planned.ts';
import { useExtras } from './report/extras.ts';

let last: { from: readonly unknown[]; options: HandoverOptions } | null = null;

function optionsFrom(
  { filters, ...choices }: CodeChoices,
  plan: KeepAlivePlan | null,
  traces: ReportTraces | null,
): HandoverOptions {
  return {
    ...choices,
    ...(filters === null ? {} : { filters }),
    ...(plan ? { plan } : {}),
    ...(traces ? { report: { traces } } : {}),
  };
}

/** One object as long as nothing of it changes. */
export function useHandoverOptions(): HandoverOptions {
  const choices = useCodeChoices();
  const plan = usePlanned(({ plan: made }) => made);
  const traces = useExtras(({ traces: told }) => told);
  const from = [choices, plan, traces];
  const isSame = last?.from.every((part, at) => part === from[at]);
  if (!last || !isSame) last = { from, options: optionsFrom(choices, plan, traces) };
  return last.options;
}
