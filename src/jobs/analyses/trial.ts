/** The job `trial`: what the recording of one bench trial shows. Small; it is judged with the record that it goes into. */
import { observeTrial, type ObservedTrial } from '../../handover/bench/observe.ts';
import type { TrialObservation } from '../../handover/bench/record-schema.ts';
import type { SignalMap } from '../../map/schema.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer } from './whole.ts';

export interface TrialRequest {
  readonly job: 'trial';
  readonly map: Pick<SignalMap, 'frames'>;
  readonly trial: ObservedTrial;
}

/** One part on all streams: what was not to be on the bus counts as well. */
export const trialJob: AnalysisJob<TrialRequest, TrialObservation> = {
  name: 'trial',
  version: 1,
  parts: (request, table) => [{ request, streams: table.streams }],
  run: async ({ map, trial }, table) => observeTrial(map, table, trial),
  join: onlyAnswer,
};
