/** The job `meaning`: the part that each field plays, as far as the capture tells. The survey has senders as the person has them. */
import type { LinkReport } from '../../actions/types.ts';
import { findMeaning, type MeaningReport } from '../../draft/meaning.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { Survey } from '../../timing/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer, streamsOf } from './whole.ts';

export interface MeaningRequest {
  readonly job: 'meaning';
  readonly findings: readonly FrameFindings[];
  readonly survey: Pick<Survey, 'frames'>;
  readonly links: LinkReport | null;
  readonly seed: number;
}

export const meaningJob: AnalysisJob<MeaningRequest, MeaningReport> = {
  name: 'meaning',
  version: 1,
  parts: (request, table) => [{ request, streams: streamsOf(request.findings, table) }],
  run: ({ job: _job, ...request }, table, control) => findMeaning({ ...request, table }, control),
  join: onlyAnswer,
};
