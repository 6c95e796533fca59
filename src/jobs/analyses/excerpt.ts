/** The job `excerpt`: a part of a capture for sending, from a span marked at rest; without the phrase typed it only says what would go and what is to be read. */
import { prepareExcerpt, type ExcerptAnswer, type ExcerptAsked } from '../../handover/sending/prepare.ts';
import type { AnalysisJob } from './job.ts';
import { onlyAnswer } from './whole.ts';

export interface ExcerptRequest extends ExcerptAsked {
  readonly job: 'excerpt';
}

export const excerptJob: AnalysisJob<ExcerptRequest, ExcerptAnswer> = {
  name: 'excerpt',
  version: 1,
  // What the logger sent itself is not even copied.
  parts: (request, table) => [{ request, streams: table.streams.filter(({ direction }) => direction === 'received') }],
  run: async ({ job: _job, ...asked }, table) => prepareExcerpt(table, asked),
  join: onlyAnswer,
};
