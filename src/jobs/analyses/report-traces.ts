/** The job `report-traces`: how every signal of a map went over this capture, small enough for a report. */
import { walkSteps } from '../../frames/pictures/steps.ts';
import type { FrameTable, Stream } from '../../frames/table.ts';
import {
  columnsFor,
  frameTraces,
  type FrameTraces,
  type ReportTraces,
  type TracesWindow,
} from '../../handover/report/traces.ts';
import { idNumber } from '../../map/identifiers.ts';
import type { MapFrame } from '../../map/schema.ts';
import type { AnalysisJob } from './job.ts';

export interface ReportTracesRequest {
  readonly job: 'report-traces';
  /** Of the map; those that the capture lacks have no traces. */
  readonly frames: readonly MapFrame[];
  /** Of the capture, for a person. */
  readonly title: string;
  /** Bus of the map -> bus of the capture, null for one that it lacks; by name where left out. */
  readonly busMap?: Readonly<Record<string, string | null>>;
  /** Seconds from the capture's origin; the whole of it where left out. */
  readonly window?: Omit<TracesWindow, 'columns'>;
}

/** What the logger itself sent counts only where nothing was received. */
function streamOf(frame: MapFrame, { busMap }: ReportTracesRequest, { streams }: FrameTable): Stream | undefined {
  const wanted = busMap && frame.bus in busMap ? busMap[frame.bus] : frame.bus;
  const own = streams.filter(
    ({ bus, id, extended }) => bus === wanted && id === idNumber(frame.id) && extended === frame.extended,
  );
  return own.find(({ direction }) => direction === 'received') ?? own[0];
}

function windowOf({ frames, window }: ReportTracesRequest, table: FrameTable): TracesWindow {
  const signals = frames.reduce((sum, frame) => sum + frame.signals.length, 0);
  return { fromS: window?.fromS ?? 0, toS: window?.toS ?? table.endUs / 1e6, columns: columnsFor(signals) };
}

const EMPTY: TracesWindow = { fromS: 0, toS: 0, columns: 1 };
const nothing = (title: string): ReportTraces => ({ title, window: EMPTY, frames: [] });

/** A part a frame: each reads one identifier alone. */
export const reportTracesJob: AnalysisJob<ReportTracesRequest & { readonly cut?: TracesWindow }, ReportTraces> = {
  name: 'report-traces',
  version: 1,
  parts: (request, table) => {
    const cut = windowOf(request, table);
    return request.frames.flatMap((frame) => {
      const stream = streamOf(frame, request, table);
      return stream ? [{ request: { ...request, frames: [frame], cut }, streams: [stream] }] : [];
    });
  },
  run: async (request, table, control) => {
    const { frames, title, cut = EMPTY } = request;
    const traced: FrameTraces[] = [];
    for (const frame of frames) {
      const stream = streamOf(frame, request, table);
      if (stream) traced.push(await walkSteps(frameTraces(stream, frame, cut), control));
    }
    return { title, window: cut, frames: traced };
  },
  join: (answers) =>
    answers.length === 0
      ? nothing('')
      : { ...(answers[0] as ReportTraces), frames: answers.flatMap(({ frames }) => frames) },
};
