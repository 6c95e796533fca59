/**
 * What a long job is: pure, named, versioned, and cut into parts that may run apart, each on the streams it needs. The same job
 * runs in place, in worker threads and in the browser's workers; who runs the parts is a parameter.
 */
import type { FrameTable, Stream } from '../../frames/table.ts';
import type { Control } from '../../kit/control.ts';

export interface AnalysisPart<Request> {
  readonly request: Request;
  /** Streams that the part reads: all that is copied for it. */
  readonly streams: readonly Stream[];
}

export interface AnalysisJob<Request, Answer> {
  readonly name: string;
  /** Raised whenever the answer to the same request may differ: kept findings of other versions are not used. */
  readonly version: number;
  /** In the order to run them. */
  parts(request: Request, table: FrameTable): readonly AnalysisPart<Request>[];
  /** `table` holds the part's streams alone. */
  run(request: Request, table: FrameTable, control: Control): Promise<Answer>;
  /** Further parts, run when all of the first are answered: what one of them tells may change another's answer. */
  again?(request: Request, answers: readonly Answer[], table: FrameTable): readonly AnalysisPart<Request>[];
  /** The whole answer from those of all parts, in the order in which `parts`, then `again` gave them. */
  join(answers: readonly Answer[], table: FrameTable): Answer;
}

/** A table of some of a table's streams, each at its new place. */
export function tableOf(table: FrameTable, streams: readonly Stream[]): FrameTable {
  return {
    ...table,
    streams: streams.map((stream, index) => ({ ...stream, index })),
    frameCount: streams.reduce((sum, stream) => sum + stream.count, 0),
  };
}
