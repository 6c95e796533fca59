/** The job `needs`: what one capture shows of who is needed by a part, for the keep-alive plan. */
import { walkSteps } from '../../frames/pictures/steps.ts';
import { observeNeeds, type ObserveInput } from '../../handover/needs/observe/observe.ts';
import type { CaptureObservations } from '../../handover/needs/observe/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer } from './whole.ts';

export interface NeedsRequest extends ObserveInput {
  readonly job: 'needs';
}

export const needsJob: AnalysisJob<NeedsRequest, CaptureObservations> = {
  name: 'needs',
  version: 1,
  parts: (request, table) => [{ request, streams: table.streams }],
  run: ({ job: _job, ...input }, table, control) => walkSteps(observeNeeds(table, input), control),
  join: onlyAnswer,
};
