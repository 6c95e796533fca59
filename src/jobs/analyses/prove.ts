/** The job `prove`: a map held against this capture. */
import { proveMap } from '../../proof/hold/prove-map.ts';
import type { ProofInput, ProofReport } from '../../proof/hold/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer } from './whole.ts';

export interface ProveRequest extends Omit<ProofInput, 'table'> {
  readonly job: 'prove';
}

/** One part on all streams: whose clock, losses and modes are those of the capture shows only on all of them. */
export const proveJob: AnalysisJob<ProveRequest, ProofReport> = {
  name: 'prove',
  version: 2,
  parts: (request, table) => [{ request, streams: table.streams }],
  run: ({ job: _job, ...request }, table, control) => proveMap({ ...request, table }, control),
  join: onlyAnswer,
};
