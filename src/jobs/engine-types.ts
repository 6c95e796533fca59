/**
 * What may be asked of a capture. One engine owns the frames of one capture, in the worker that
 * parsed them; the page and the command line hold an `Engine` (directly, or over comlink) and get
 * small answers: typed arrays that may be transferred, and plain objects. No frame leaves it.
 *
 * Two kinds of question. Small ones are answered by the engine itself in about 8 ms a slice.
 * Long ones (`analyse`) run in a disposable compute worker on copied columns, and are ended by ending it.
 */
import type { Mark } from '../actions/types.ts';
import type {
  LoadPicture,
  OverviewPicture,
  RepetitionShape,
  RepetitionsPicture,
  TracePicture,
  TraceRequest,
  WeavePicture,
  Window,
} from '../frames/pictures/types.ts';
import type { Span } from '../frames/pictures/span.ts';
import type { ReadingProgress, ReadOptions } from '../frames/reading-types.ts';
import type { CaptureInput } from '../frames/source.ts';
import type { ClockOrigin, FileReport, StreamKey } from '../frames/table.ts';
import type { Control } from '../kit/control.ts';
import type { Outcome } from '../kit/outcome.ts';
import type { Clocks } from '../timing/senders/drift-picture.ts';
import type { ComparisonProfile } from '../proof/compare/profile-types.ts';
import type { GuardCheck, GuardQuestion } from '../proof/hold/guard-check.ts';
import type { Modes } from '../timing/modes/modes.ts';
import type { BusRates, ModeMark, Survey, SurveyFrame } from '../timing/types.ts';
import type { AnalysisAnswers, AnalysisName, AnalysisRequestOf } from './analyses/catalogue.ts';

export type * from '../frames/pictures/types.ts';
export type * from '../proof/hold/guard-check.ts';
export type { AnalysisRequest } from './analyses/catalogue.ts';

export interface CaptureSummary {
  /** SHA-256 over the files' digests and the read options: findings are kept under it. */
  readonly digest: string;
  readonly files: readonly FileReport[];
  readonly origin: ClockOrigin;
  readonly durationS: number;
  readonly frames: number;
  readonly buses: readonly string[];
  readonly streams: readonly (StreamKey & {
    readonly index: number;
    readonly count: number;
    readonly length: number;
  })[];
}

/** What the vehicle did with marks heard, and each identifier's timing in it, in the order of the survey's frames. */
export interface ModesAnswer {
  readonly modes: Modes['modes'];
  readonly timings: readonly SurveyFrame['timing'][];
}

export interface Engine {
  open(
    inputs: readonly CaptureInput[],
    options: ReadOptions,
    onReading?: (progress: ReadingProgress) => void,
    control?: Control,
  ): Promise<Outcome<CaptureSummary>>;
  /** Survey of the whole capture, or of a span of it. */
  survey(rates: BusRates, span?: Span): Promise<Survey>;
  /** Modes anew with marks to name them, on the capture's clock; the survey of the same span is what they are made from. */
  modes(marks: readonly ModeMark[], span?: Span): Promise<ModesAnswer>;
  /** What a comparison needs to know of the whole capture, or of a span of it: small, so that captures in two workers can be compared. */
  profile(rates?: BusRates, span?: Span): Promise<ComparisonProfile>;
  /** The senders' clocks behind the survey's groups, window by window: of the whole capture, or of a span of it. */
  drift(span?: Span): Promise<Clocks>;
  overview(window: Window): Promise<OverviewPicture>;
  load(window: Window, rates: BusRates): Promise<LoadPicture>;
  weave(stream: StreamKey, window: Window): Promise<WeavePicture>;
  traces(requests: readonly TraceRequest[], window: Window): Promise<readonly TracePicture[]>;
  /** The value of each field in the last frame at or before an instant; NaN before its first frame. */
  valuesAt(requests: readonly TraceRequest[], atS: number): Promise<readonly number[]>;
  repetitions(request: TraceRequest, marks: readonly Mark[], shape: RepetitionShape): Promise<RepetitionsPicture>;
  /** Holds a counter or a checksum against every frame of the identifier that is on its page. */
  guardCheck(stream: StreamKey, question: GuardQuestion): Promise<GuardCheck>;
  /** Payload bytes (upper-case, spaced) of the last frame at or before an instant, or null. */
  payloadAt(stream: StreamKey, atS: number): Promise<{ readonly payload: string; readonly atS: number } | null>;
  /**
   * Runs a long job. `onPartial` gets each part of the answer as it is found (for `fields`, one identifier at a time);
   * the promise gives the whole, in the table's order. Rejects with Cancelled when the control's signal asks to stop.
   */
  analyse<Job extends AnalysisName>(
    request: AnalysisRequestOf<Job> & { readonly job: Job },
    control?: Control,
    onPartial?: (answer: AnalysisAnswers[Job]) => void,
  ): Promise<AnalysisAnswers[Job]>;
  close(): Promise<void>;
}
