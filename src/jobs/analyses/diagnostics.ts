/** The job `diagnostics`: who asks whom in the capture, what was answered, and the readings that come of it, on the capture's clock. */
import { diagnosticsOf, type Diagnostics } from '../../reference/diagnostics/report.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer } from './whole.ts';

export interface DiagnosticsRequest {
  readonly job: 'diagnostics';
}

export type DiagnosticsAnswer = Diagnostics;

export const diagnosticsJob: AnalysisJob<DiagnosticsRequest, DiagnosticsAnswer> = {
  name: 'diagnostics',
  version: 1,
  parts: (request, table) => [{ request, streams: table.streams }],
  run: async (_request, table) => diagnosticsOf(table),
  join: onlyAnswer,
};
