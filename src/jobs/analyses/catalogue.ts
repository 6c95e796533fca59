/**
 * The long jobs by name. A new one is a file of its own beside this one and a line in ANALYSES: the requests and answers that the
 * engine takes, its client in the page and the workers all follow from here.
 */
import { compareJob } from './compare.ts';
import { diagnosticsJob } from './diagnostics.ts';
import { excerptJob } from './excerpt.ts';
import { fieldsJob } from './fields.ts';
import { fitJob } from './fit.ts';
import { linkJob } from './link.ts';
import { meaningJob } from './meaning.ts';
import { needsJob } from './needs.ts';
import { proveJob } from './prove.ts';
import { publishJob } from './publish.ts';
import { reportTracesJob } from './report-traces.ts';
import { restJob } from './rest.ts';
import { sameJob } from './same.ts';
import { sequencesJob } from './sequences.ts';
import { sufficesJob } from './suffices.ts';
import { trialJob } from './trial.ts';
import type { AnalysisJob } from './job.ts';

export const ANALYSES = {
  fields: fieldsJob,
  link: linkJob,
  fit: fitJob,
  rest: restJob,
  same: sameJob,
  compare: compareJob,
  sequences: sequencesJob,
  diagnostics: diagnosticsJob,
  meaning: meaningJob,
  prove: proveJob,
  suffices: sufficesJob,
  needs: needsJob,
  excerpt: excerptJob,
  'report-traces': reportTracesJob,
  trial: trialJob,
  publish: publishJob,
} as const;

export type AnalysisName = keyof typeof ANALYSES;
type RequestOf<Job> = Job extends AnalysisJob<infer Request, infer _Answer> ? Request : never;
type AnswerOf<Job> = Job extends AnalysisJob<infer _Request, infer Answer> ? Answer : never;

export type AnalysisRequestOf<Name extends AnalysisName> = RequestOf<(typeof ANALYSES)[Name]>;
export type AnalysisRequest = AnalysisRequestOf<AnalysisName>;
export type AnalysisAnswers = { readonly [Name in AnalysisName]: AnswerOf<(typeof ANALYSES)[Name]> };

/** The catalogue's entry for a request, its types forgotten: the runner passes requests and answers through unread. */
export function analysisJob(name: AnalysisName): AnalysisJob<unknown, unknown> {
  return ANALYSES[name] as unknown as AnalysisJob<unknown, unknown>;
}
