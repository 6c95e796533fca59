/** The job `suffices`: whether the recording suffices before the part is cut out, and what to record next. Marks are on the capture's clock. */
import { whatSuffices } from '../../proof/suffices/suffices.ts';
import type { Sufficiency, SufficesInput } from '../../proof/suffices/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer, streamsOf } from './whole.ts';

export interface SufficesRequest extends Omit<SufficesInput, 'table'> {
  readonly job: 'suffices';
}

export const sufficesJob: AnalysisJob<SufficesRequest, Sufficiency> = {
  name: 'suffices',
  version: 1,
  parts: (request, table) => [{ request, streams: streamsOf(request.findings ?? [], table) }],
  run: async ({ job: _job, ...input }, table) => whatSuffices({ ...input, table }),
  join: onlyAnswer,
};
