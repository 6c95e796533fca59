/** What a compute worker does: one part of one long job at a time, on columns that were handed over to it. */
import type { FrameTable } from '../src/frames/table.ts';
import { analysisJob, type AnalysisName } from '../src/jobs/analyses/catalogue.ts';
import type { Progress } from '../src/kit/control.ts';

export interface ComputeHost {
  run(
    job: AnalysisName,
    request: unknown,
    table: FrameTable,
    onProgress: (progress: Progress) => void,
  ): Promise<unknown>;
}

export const computeHost: ComputeHost = {
  run: (job, request, table, onProgress) => analysisJob(job).run(request, table, { onProgress }),
};
