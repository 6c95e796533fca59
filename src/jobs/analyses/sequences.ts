/** The job `sequences`: what follows each action, step by step. Marks are on the capture's clock. */
import { findSequences } from '../../actions/sequences.ts';
import type { Mark, Sequence } from '../../actions/types.ts';
import type { FrameFindings } from '../../fields/types.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer, streamsOf } from './whole.ts';

export interface SequencesRequest {
  readonly job: 'sequences';
  readonly findings: readonly FrameFindings[];
  readonly marks: readonly Mark[];
  /** Who sends which frame. */
  readonly senders: readonly {
    readonly bus: string;
    readonly id: string;
    readonly extended: boolean;
    readonly group: string | null;
  }[];
}

export const sequencesJob: AnalysisJob<SequencesRequest, readonly Sequence[]> = {
  name: 'sequences',
  version: 2,
  parts: (request, table) => [{ request, streams: streamsOf(request.findings, table) }],
  run: ({ findings, marks, senders }, table, control) => findSequences({ table, findings, marks, senders }, control),
  join: onlyAnswer,
};
