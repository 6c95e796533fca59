/**
 * The job `fields`: the payload structure of each identifier, one part an identifier, small ones first; then once more those that are in
 * doubt, with what all have taught.
 */
import type { FieldOptions, FrameFindings } from '../../fields/types.ts';
import { findFields } from '../../fields/find.ts';
import { habitsOf, wantsAnotherLook } from '../../fields/habits.ts';
import { findStream, type FrameTable, type Stream, type StreamKey } from '../../frames/table.ts';
import { keyOf } from '../../frames/pictures/keys.ts';
import { formatId } from '../../kit/units.ts';
import type { AnalysisJob, AnalysisPart } from './job.ts';

export interface FieldsRequest {
  readonly job: 'fields';
  /** Run in this order; "all" takes those with the fewest frames first. */
  readonly streams: readonly StreamKey[] | 'all';
  readonly options: FieldOptions;
}

function streamsAsked(request: FieldsRequest, table: FrameTable): readonly Stream[] {
  if (request.streams === 'all') return [...table.streams].sort((a, b) => a.count - b.count);
  return request.streams.map((key) => findStream(table, key)).filter((stream) => stream !== undefined);
}

const textKey = (key: { bus: string; id: string; extended: boolean; direction: string }): string =>
  `${key.bus} ${key.id} ${key.extended} ${key.direction}`;
const streamKey = (stream: Stream): string => textKey({ ...stream, id: formatId(stream.id) });

const partOf = (request: FieldsRequest, stream: Stream): AnalysisPart<FieldsRequest> => ({
  request: { ...request, streams: [keyOf(stream)] },
  streams: [stream],
});

export const fieldsJob: AnalysisJob<FieldsRequest, readonly FrameFindings[]> = {
  name: 'fields',
  version: 2,
  parts: (request, table) => streamsAsked(request, table).map((stream) => partOf(request, stream)),
  run: (request, table, control) => findFields(table.streams, request.options, control),
  again(request, answers, table) {
    const findings = answers.flat();
    if (request.options.habits || findings.length < 2) return [];
    const habits = habitsOf(findings);
    const doubtful = new Set(findings.filter((each) => wantsAnotherLook(each, habits)).map(textKey));
    const options = { ...request.options, habits };
    return streamsAsked(request, table)
      .filter((stream) => doubtful.has(streamKey(stream)))
      .map((stream) => partOf({ ...request, options }, stream));
  },
  join(answers, table) {
    const latest = new Map(answers.flat().map((findings) => [textKey(findings), findings]));
    const place = new Map(table.streams.map((stream) => [streamKey(stream), stream.index]));
    const order = (findings: FrameFindings): number => place.get(textKey(findings)) ?? -1;
    return [...latest.values()].sort((a, b) => order(a) - order(b));
  },
};
