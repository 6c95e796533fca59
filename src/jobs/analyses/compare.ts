/** The job `compare`: what differs between two captures, from their profiles alone. It reads no frames, so any engine can run it. */
import { compareProfiles } from '../../proof/compare/compare-profiles.ts';
import type { ComparisonProfile } from '../../proof/compare/profile-types.ts';
import type { Comparison } from '../../proof/compare/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer } from './whole.ts';

export interface CompareRequest {
  readonly job: 'compare';
  readonly a: ComparisonProfile;
  readonly b: ComparisonProfile;
}

export const compareJob: AnalysisJob<CompareRequest, Comparison> = {
  name: 'compare',
  version: 1,
  parts: (request) => [{ request, streams: [] }],
  run: async ({ a, b }) => compareProfiles(a, b),
  join: onlyAnswer,
};
