/** The job `rest`: what each identifier sends while nothing is being done. Marks are on the capture's clock. */
import type { Mark } from '../../actions/types.ts';
import { findRest, restPayloads } from '../../draft/rest.ts';
import type { RestPayload } from '../../draft/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer, streamsOf } from './whole.ts';

export interface RestRequest {
  readonly job: 'rest';
  readonly findings: readonly FrameFindings[];
  readonly marks: readonly Mark[];
}

/** Empty where nothing is calm for long enough. */
export const restJob: AnalysisJob<RestRequest, readonly RestPayload[]> = {
  name: 'rest',
  version: 1,
  parts: (request, table) => [{ request, streams: streamsOf(request.findings, table) }],
  run: async ({ findings, marks }, table) => {
    const span = findRest(table, findings, marks);
    return span ? restPayloads(table, span) : [];
  },
  join: onlyAnswer,
};
