/** The job `link`: which fields answer which actions. */
import { linkFields } from '../../actions/link.ts';
import type { LinkReport, MarkFile } from '../../actions/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer, streamsOf } from './whole.ts';

export interface LinkRequest {
  readonly job: 'link';
  readonly findings: readonly FrameFindings[];
  readonly marks: MarkFile;
  readonly offset: 'auto' | number;
  readonly seed: number;
  readonly unsureShown?: number;
}

export const linkJob: AnalysisJob<LinkRequest, LinkReport> = {
  name: 'link',
  version: 2,
  parts: (request, table) => [{ request, streams: streamsOf(request.findings, table) }],
  run: ({ job: _job, ...request }, table, control) => linkFields({ ...request, table }, control),
  join: onlyAnswer,
};
