/**
 * The engine: owns the frames of one capture and answers questions about it. The same code runs in place (command line,
 * tests), in a worker thread and in the browser's capture worker; how it lets messages in and where long jobs run are
 * parameters.
 */
import { load } from '../frames/pictures/load.ts';
import { overview } from '../frames/pictures/overview.ts';
import { trimTable, type Span } from '../frames/pictures/span.ts';
import { rowAt } from '../frames/pictures/columns.ts';
import { keyOf } from '../frames/pictures/keys.ts';
import { walkSteps } from '../frames/pictures/steps.ts';
import { repetitions, trace, valueAt } from '../frames/pictures/trace.ts';
import { fieldReader } from '../frames/pictures/values.ts';
import { weave } from '../frames/pictures/weave.ts';
import { payloadAt, type FrameTable, type Stream } from '../frames/table.ts';
import type { Control } from '../kit/control.ts';
import { good, invariant } from '../kit/outcome.ts';
import { formatId, MICROS_PER_SECOND } from '../kit/units.ts';
import { formatPayload } from '../map/raw-values.ts';
import { windowMiddlesS } from '../timing/senders/clock-track.ts';
import type { Clocks } from '../timing/senders/drift-picture.ts';
import type { Senders } from '../timing/senders/groups.ts';
import { profileSurveyed } from '../proof/compare/profile.ts';
import { checkGuard } from '../proof/hold/guard-check.ts';
import { periodUsOf } from '../proof/hold/prove-counters.ts';
import { captureDigest } from './digest.ts';
import type { CaptureSummary, Engine } from './engine-types.ts';
import { openCapture, type OpenCapture } from './open-capture.ts';
import { readFrames } from './read-frames.ts';
import { inPlaceRunner, runAnalysis, type PartRunner } from './run-analysis.ts';

export interface EngineSetting {
  /** Lets waiting messages in, between slices of work. Without it every question is answered in one go. */
  readonly breathe?: () => Promise<void>;
  /** Where the parts of one long job run; made for each job and ended after it. In place by default. */
  readonly createRunner?: () => PartRunner;
}

export interface InlineEngine extends Engine {
  /** The open capture's frames, for callers on the same side (decode, handover); null while none is open. */
  readonly table: FrameTable | null;
  /** Takes frames that were made rather than read: simulated vehicles, tests. */
  adopt(table: FrameTable, digest?: string): CaptureSummary;
}

function summarise({ table, digest }: OpenCapture): CaptureSummary {
  return {
    digest,
    files: table.files,
    origin: table.origin,
    durationS: table.endUs / MICROS_PER_SECOND,
    frames: table.frameCount,
    buses: table.buses,
    streams: table.streams.map((s) => ({ ...keyOf(s), index: s.index, count: s.count, length: s.length })),
  };
}

/** Copies: what is answered is transferred, and must not leave the engine without its own. */
function clocksOf({ streams }: Senders, endUs: number): Clocks {
  const readings = streams.flatMap(({ stream, track }) =>
    track
      ? [
          {
            bus: stream.bus,
            id: formatId(stream.id),
            extended: stream.extended,
            leastUs: track.leastUs.slice(),
          },
        ]
      : [],
  );
  return { middlesS: windowMiddlesS(endUs), readings };
}

export function createInlineEngine(setting: EngineSetting = {}): InlineEngine {
  const { breathe, createRunner = inPlaceRunner } = setting;
  const slices: Control = breathe ? { breathe } : {};
  let current: OpenCapture | null = null;
  let trimmed: { readonly span: Span; readonly capture: OpenCapture } | null = null;
  const opened = (): OpenCapture => {
    invariant(current, 'no capture is open');
    return current;
  };
  const adopt = (table: FrameTable, digest: string): CaptureSummary => {
    current = openCapture(table, digest, slices);
    trimmed = null;
    return summarise(current);
  };
  /** The whole capture, or a span of it; the last span is kept, as it is asked about several times. */
  const spanned = (span: Span | undefined): OpenCapture => {
    const capture = opened();
    if (!span) return capture;
    if (trimmed?.span.fromS !== span.fromS || trimmed.span.toS !== span.toS)
      trimmed = { span, capture: openCapture(trimTable(capture.table, span), '', slices, span) };
    return trimmed.capture;
  };
  return {
    get table() {
      return current?.table ?? null;
    },
    adopt: (table, digest = captureDigest(table.files, [], {})) => adopt(table, digest),
    async open(inputs, options, onReading, control = {}) {
      const outcome = await readFrames(inputs, options, { ...slices, ...control }, onReading);
      if (!outcome.ok) return outcome;
      const busNames = inputs.map((input) => input.bus);
      const summary = adopt(outcome.value, captureDigest(outcome.value.files, busNames, options));
      return good(summary, outcome.warnings);
    },
    survey: async (rates, span) => spanned(span).survey(rates),
    async modes(marks, span) {
      const { modes, rows } = await spanned(span).modes(marks);
      return { modes, timings: rows.map(({ timing }) => timing) };
    },
    async profile(rates = {}, span) {
      const survey = await spanned(span).survey(rates);
      return walkSteps(profileSurveyed(opened().table, survey, span), slices);
    },
    async drift(span) {
      const capture = spanned(span);
      return clocksOf(await capture.senders(), capture.table.endUs);
    },
    async overview(window) {
      const capture = opened();
      const sums = new Map<Stream, Float64Array>();
      for (const stream of capture.table.streams) sums.set(stream, await capture.movement(stream));
      return walkSteps(
        overview(capture.table, window, (stream) => sums.get(stream) as Float64Array),
        slices,
      );
    },
    async load(window, rates) {
      const capture = opened();
      const gaps = await capture.busGaps();
      return walkSteps(
        load(capture.table, window, rates, capture.wire, (bus) => gaps.get(bus) ?? []),
        slices,
      );
    },
    async weave(key, window) {
      const capture = opened();
      const stream = capture.stream(key);
      const [pyramid, row] = await Promise.all([capture.pyramid(stream), capture.row(stream)]);
      return walkSteps(weave(stream, pyramid, window, row.gaps), slices);
    },
    async traces(requests, window) {
      const capture = opened();
      const pictures = [];
      for (const request of requests) {
        const stream = capture.stream(request.stream);
        pictures.push(await walkSteps(trace(stream, await capture.blocks(stream, request), window), slices));
      }
      return pictures;
    },
    async valuesAt(requests, atS) {
      const capture = opened();
      return requests.map((request) => {
        const stream = capture.stream(request.stream);
        return valueAt(stream, fieldReader(stream, request), atS * MICROS_PER_SECOND);
      });
    },
    async repetitions(request, marks, shape) {
      const capture = opened();
      const stream = capture.stream(request.stream);
      const { gaps } = await capture.row(stream);
      const starts = marks.map((mark) => mark.startS);
      return walkSteps(repetitions(stream, fieldReader(stream, request), starts, shape, gaps), slices);
    },
    async guardCheck(key, question) {
      const capture = opened();
      const stream = capture.stream(key);
      const periodUs = question.guard === 'counter' ? periodUsOf(question.rule, await capture.row(stream)) : null;
      return walkSteps(checkGuard(stream, question, periodUs), slices);
    },
    async payloadAt(key, atS) {
      const stream = opened().stream(key);
      const row = rowAt(stream.timeUs, atS * MICROS_PER_SECOND);
      if (row < 0) return null;
      return {
        payload: formatPayload(payloadAt(stream, row)),
        atS: (stream.timeUs[row] as number) / MICROS_PER_SECOND,
      };
    },
    async analyse(request, control = {}, onPartial) {
      const { table } = opened();
      const runner = createRunner();
      const report = onPartial as ((answer: unknown) => void) | undefined;
      return (await runAnalysis(table, request.job, request, runner, { ...slices, ...control }, report)) as never;
    },
    async close() {
      current = null;
      trimmed = null;
    },
  };
}
