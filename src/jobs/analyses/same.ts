/** The job `same`: which fields show the same quantity. */
import { findSameValues } from '../../fields/same-value/find.ts';
import type { SameValueReport } from '../../fields/same-value/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer, streamsOf } from './whole.ts';

export interface SameRequest {
  readonly job: 'same';
  readonly findings: readonly FrameFindings[];
  readonly seed: number;
}

export const sameJob: AnalysisJob<SameRequest, SameValueReport> = {
  name: 'same',
  version: 1,
  parts: (request, table) => [{ request, streams: streamsOf(request.findings, table) }],
  run: ({ findings, seed }, table, control) => findSameValues({ table, findings, seed }, control),
  join: onlyAnswer,
};
