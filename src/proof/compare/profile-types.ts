/**
 * What a comparison needs to know of one capture: small enough to leave the worker that owns the frames, so that two captures
 * that live in two workers can be compared. Plain objects and typed arrays; times are seconds from the capture's origin.
 */
import type { Span } from '../../frames/pictures/span.ts';
import type { MapTiming } from '../../map/schema.ts';
import type { Appearance, Waking } from '../../timing/wakings.ts';

export type { Span };

/** How one payload byte went over the frames that are long enough for it. */
export interface ByteProfile {
  readonly frames: number;
  /** Frames whose byte differs from that of the frame before. */
  readonly moves: number;
  /** Frames after the last move. */
  readonly rest: number;
  /** The longest run of frames without a move. */
  readonly longestRest: number;
  readonly last: number;
  /** Frames counted in `values`: those of a module that has had time to start. */
  readonly settled: number;
  /** [k] values that settled frames had, ascending. */
  readonly values: Uint8Array;
  /** [k] in how many of the settled frames. */
  readonly counts: Uint32Array;
  /** When it took which value, where it changed seldom; null where it changed more often than STEPS_KEPT times. */
  readonly steps: readonly { readonly atS: number; readonly value: number }[] | null;
}

export interface IdentifierProfile {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly count: number;
  readonly length: number;
  readonly timing: MapTiming;
  /** Least and most of the mean interval over runs of frames, silences left out; null with too few frames. */
  readonly paceMs: { readonly least: number; readonly most: number } | null;
  readonly firstS: number;
  readonly lastS: number;
  /** Stretches in which it was there: no silence longer than its rhythm allows. */
  readonly present: readonly Span[];
  readonly appearances: readonly Appearance[];
  readonly group: string | null;
  readonly groupConfidence: number | null;
  readonly copyOf: { readonly bus: string; readonly id: string; readonly extended: boolean } | null;
  readonly bytes: readonly ByteProfile[];
}

export interface BusProfile {
  readonly name: string;
  readonly frames: number;
  readonly wakings: readonly Waking[];
  /** Error frames; `perSecond[k]` of second k. */
  readonly errors: { readonly count: number; readonly firstS: number | null; readonly perSecond: Uint32Array };
}

export interface ComparisonProfile {
  readonly startS: number;
  readonly durationS: number;
  readonly buses: readonly BusProfile[];
  /** Received frames only, in the order of the table. */
  readonly identifiers: readonly IdentifierProfile[];
  /** Identifiers that the logger itself put on the bus: questions, to which answers are due. */
  readonly asked: readonly { readonly bus: string; readonly id: string; readonly count: number }[];
  /** Stamps are in effect multiples of this, microseconds. */
  readonly stampStepUs: number;
}
