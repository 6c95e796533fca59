/** What the files are made with: the person's choices, and the plan with what captures showed. The same for the place and its panel. */
import type { HandoverOptions } from '../../../handover/handover-files.ts';
import type { KeepAlivePlan } from '../../../handover/needs/types.ts';
import { useCodeChoices, type CodeChoices } from './choices.ts';
import { usePlanned } from './plan/planned.ts';

let last: { choices: CodeChoices; plan: KeepAlivePlan | null; options: HandoverOptions } | null = null;

function optionsFrom({ filters, ...choices }: CodeChoices, plan: KeepAlivePlan | null): HandoverOptions {
  return { ...choices, ...(filters === null ? {} : { filters }), ...(plan ? { plan } : {}) };
}

/** One object as long as nothing of it changes. */
export function useHandoverOptions(): HandoverOptions {
  const choices = useCodeChoices();
  const plan = usePlanned(({ plan: made }) => made);
  if (last?.choices !== choices || last.plan !== plan) last = { choices, plan, options: optionsFrom(choices, plan) };
  return last.options;
}
