/** The job `fit`: fields in the units of known quantities. */
import type { FrameFindings } from '../../fields/types.ts';
import { fitFields } from '../../reference/fit.ts';
import type { FitReport, ReferenceFile } from '../../reference/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer, streamsOf } from './whole.ts';

export interface FitRequest {
  readonly job: 'fit';
  readonly findings: readonly FrameFindings[];
  readonly reference: ReferenceFile;
  readonly offset: 'auto' | number;
  readonly seed: number;
}

export const fitJob: AnalysisJob<FitRequest, FitReport> = {
  name: 'fit',
  version: 1,
  parts: (request, table) => [{ request, streams: streamsOf(request.findings, table) }],
  run: ({ findings, reference, offset, seed }, table, control) =>
    fitFields({ table, findings, reference, offset, seed }, control),
  join: onlyAnswer,
};
