/**
 * Pictures: what a screen needs of the frames over a window of time, small enough to be posted, in typed arrays that may be
 * transferred. A window is cut into equal columns; a frame at the window's very end belongs to the last one.
 */
import type { Coding, Placement } from '../bits.ts';
import type { StreamKey } from '../table.ts';

/** A view in time, in seconds from the capture's origin, cut into equal columns. */
export interface Window {
  readonly fromS: number;
  readonly toS: number;
  readonly columns: number;
}

/** A silence, in seconds from the capture's origin. */
export interface Gap {
  readonly fromS: number;
  readonly toS: number;
}

/** null, or selector name -> raw values; all selectors named must hold. As `when` in the signal map. */
type Condition = Readonly<Record<string, readonly number[]>> | null;

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
  /** [bytes * 8 * columns] share of frames in which the bit is set; index (byte * 8 + bit) * columns + column. 0 in a hole. */
  readonly set: Float32Array;
  /** [bytes * 8 * columns] toggles against the frame before, divided by frames in the column. 0 in a hole. */
  readonly changed: Float32Array;
  /** Silences longer than the timing allows, in the window. */
  readonly gaps: readonly Gap[];
}

export interface TraceRequest {
  readonly stream: StreamKey;
  readonly placement: Placement;
  readonly coding: Coding;
  readonly when?: Condition;
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
  /** [columns] least, greatest and last value in the column; NaN where no value fell into it. */
  readonly low: Float64Array;
  readonly high: Float64Array;
  readonly last: Float64Array;
  /** Over the whole capture, NaN where it never had a value. */
  readonly least: number;
  readonly greatest: number;
}

export interface RepetitionShape {
  readonly beforeS: number;
  readonly afterS: number;
  readonly columns: number;
}

/** Repetitions laid over each other: one row a mark, on a common time axis around it. */
export interface RepetitionsPicture {
  readonly beforeS: number;
  readonly afterS: number;
  readonly columns: number;
  readonly rows: number;
  /** [rows * columns] the value held at the middle of each column; NaN before the first frame and in silences. */
  readonly values: Float32Array;
}
