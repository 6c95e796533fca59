/** The job `fields`: the payload structure of each identifier, one part an identifier, small ones first. */
import type { FieldOptions, FrameFindings } from '../../fields/types.ts';
import { findFields } from '../../fields/find.ts';
import { findStream, type FrameTable, type Stream, type StreamKey } from '../../frames/table.ts';
import { keyOf } from '../../frames/pictures/keys.ts';
import type { AnalysisJob } from './job.ts';

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

export const fieldsJob: AnalysisJob<FieldsRequest, readonly FrameFindings[]> = {
  name: 'fields',
  version: 1,
  parts: (request, table) =>
    streamsAsked(request, table).map((stream) => ({
      request: { ...request, streams: [keyOf(stream)] },
      streams: [stream],
    })),
  run: (request, table, control) => findFields(table.streams, request.options, control),
  join(answers, table) {
    const place = new Map(
      table.streams.map((stream) => [
        textKey({ ...stream, id: '0x' + stream.id.toString(16).toUpperCase() }),
        stream.index,
      ]),
    );
    const order = (findings: FrameFindings): number => place.get(textKey(findings)) ?? -1;
    return answers.flat().sort((a, b) => order(a) - order(b));
  },
};
