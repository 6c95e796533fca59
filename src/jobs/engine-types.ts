/**
 * What may be asked of a capture. One engine owns the frames of one capture, in the worker that
 * parsed them; the page and the command line hold an `Engine` (directly, or over comlink) and get
 * small answers: typed arrays that may be transferred, and plain objects. No frame leaves it.
 *
 * Two kinds of question. Small ones are answered by the engine itself in about 8 ms a slice.
 * Long ones (`analyse`) run in a disposable compute worker on copied columns, and are ended by ending it.
 */
import type { LinkReport, Mark, MarkFile } from '../actions/types.ts';
import type { FieldOptions, FrameFindings } from '../fields/types.ts';
import type { Coding, Placement } from '../frames/bits.ts';
import type { ReadingProgress, ReadOptions } from '../frames/reading-types.ts';
import type { CaptureInput } from '../frames/source.ts';
import type { ClockOrigin, FileReport, StreamKey } from '../frames/table.ts';
import type { Control } from '../kit/control.ts';
import type { Outcome } from '../kit/outcome.ts';
import type { When } from '../map/schema.ts';
import type { FitReport, ReferenceFile } from '../reference/types.ts';
import type { BusRates, Gap, Survey } from '../timing/types.ts';

/** A view in time, in seconds from the capture's origin, cut into equal columns. */
export interface Window {
  readonly fromS: number;
  readonly toS: number;
  readonly columns: number;
}

export interface CaptureSummary {
  /** SHA-256 over the files' digests and the read options: findings are kept under it. */
  readonly digest: string;
  readonly files: readonly FileReport[];
  readonly origin: ClockOrigin;
  readonly durationS: number;
  readonly frames: number;
  readonly buses: readonly string[];
  readonly streams: readonly (StreamKey & { readonly index: number; readonly count: number; readonly length: number })[];
}

/** How much each stream moves over the window: a thread an identifier in Captures. */
export interface OverviewPicture {
  readonly window: Window;
  readonly streams: readonly StreamKey[];
  /** [streams * columns] frames in the column. */
  readonly frames: Uint32Array;
  /** [streams * columns] share of payload bits that toggled per frame; NaN without frames. */
  readonly movement: Float32Array;
}

export interface LoadPicture {
  readonly window: Window;
  readonly buses: readonly {
    readonly name: string;
    /** [columns] load 0..1, or frames per second where the bit rate is unknown; NaN in a gap. */
    readonly values: Float32Array;
    readonly measure: 'load' | 'frames-per-second';
  }[];
}

/** The weave of one identifier: bits as threads, columns of time. */
export interface WeavePicture {
  readonly stream: StreamKey;
  readonly window: Window;
  readonly bytes: number;
  /** [columns] frames in the column; 0 is a hole. */
  readonly frames: Uint32Array;
  /** [bytes * 8 * columns] share of frames in which the bit is set; index (byte * 8 + bit) * columns + column. */
  readonly set: Float32Array;
  /** [bytes * 8 * columns] toggles divided by frames in the column. */
  readonly changed: Float32Array;
  /** Silences longer than the timing allows, in the window. */
  readonly gaps: readonly Gap[];
}

export interface TraceRequest {
  readonly stream: StreamKey;
  readonly placement: Placement;
  readonly coding: Coding;
  readonly when?: When;
  /** Selector placements that `when` names. */
  readonly selectors?: readonly (Placement & { readonly name: string })[];
  readonly scale?: number;
  readonly offset?: number;
  readonly table?: readonly (readonly [number, number])[] | null;
  /** Unsigned raw ranges that are not values. */
  readonly invalid?: readonly { readonly from: number; readonly to: number }[];
}

export interface TracePicture {
  readonly window: Window;
  /** [columns] least, greatest and last value in the column; NaN where no frame fell into it. */
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly last: Float64Array;
  /** Over the whole capture, NaN where it never had a value. */
  readonly least: number;
  readonly greatest: number;
}

/** Repetitions laid over each other: one row a mark, on a common time axis around it. */
export interface RepetitionsPicture {
  readonly beforeS: number;
  readonly afterS: number;
  readonly columns: number;
  readonly rows: number;
  /** [rows * columns] */
  readonly values: Float32Array;
}

export type AnalysisRequest =
  | { readonly job: 'fields'; readonly streams: readonly StreamKey[] | 'all'; readonly options: FieldOptions }
  | {
      readonly job: 'link';
      readonly findings: readonly FrameFindings[];
      readonly marks: MarkFile;
      readonly offset: 'auto' | number;
      readonly seed: number;
    }
  | {
      readonly job: 'fit';
      readonly findings: readonly FrameFindings[];
      readonly reference: ReferenceFile;
      readonly offset: 'auto' | number;
      readonly seed: number;
    };

export interface AnalysisAnswers {
  readonly fields: readonly FrameFindings[];
  readonly link: LinkReport;
  readonly fit: FitReport;
}

export interface Engine {
  open(
    inputs: readonly CaptureInput[],
    options: ReadOptions,
    onReading?: (progress: ReadingProgress) => void,
    control?: Control,
  ): Promise<Outcome<CaptureSummary>>;
  /** Survey of the whole capture, or of a span of it. */
  survey(rates: BusRates, span?: { readonly fromS: number; readonly toS: number }): Promise<Survey>;
  overview(window: Window): Promise<OverviewPicture>;
  load(window: Window, rates: BusRates): Promise<LoadPicture>;
  weave(stream: StreamKey, window: Window): Promise<WeavePicture>;
  traces(requests: readonly TraceRequest[], window: Window): Promise<readonly TracePicture[]>;
  /** The value of each field in the last frame at or before an instant; NaN before its first frame. */
  valuesAt(requests: readonly TraceRequest[], atS: number): Promise<readonly number[]>;
  repetitions(
    request: TraceRequest,
    marks: readonly Mark[],
    shape: { readonly beforeS: number; readonly afterS: number; readonly columns: number },
  ): Promise<RepetitionsPicture>;
  /** Payload bytes (upper-case, spaced) of the last frame at or before an instant, or null. */
  payloadAt(stream: StreamKey, atS: number): Promise<{ readonly payload: string; readonly atS: number } | null>;
  analyse<Job extends AnalysisRequest['job']>(
    request: Extract<AnalysisRequest, { job: Job }>,
    control?: Control,
  ): Promise<AnalysisAnswers[Job]>;
  close(): Promise<void>;
}
