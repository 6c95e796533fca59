/** Known quantities over time and the fits of fields to them. */
import type { Coding, Placement } from '../frames/bits.ts';
import type { When } from '../map/schema.ts';

export interface ReferenceSeries {
  readonly name: string;
  readonly unit: string;
  /** [n] seconds on the reference's own clock, ascending. */
  readonly timeS: Float64Array;
  /** [n] never NaN: gaps are left out. */
  readonly value: Float64Array;
}

export interface ReferenceFile {
  readonly series: readonly ReferenceSeries[];
  readonly timeBase: 'epoch' | 'capture';
}

export interface Fit extends Placement {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly field: string;
  readonly coding: Coding;
  readonly when: When;
  readonly scale: number;
  readonly scaleSe: number;
  readonly offset: number;
  readonly offsetSe: number;
  /** A round scale within the error, or null. */
  readonly simpleScale: number | null;
  /** The field's value is best compared with the reference this much later, seconds. */
  readonly lagS: number;
  readonly r2: number;
  readonly n: number;
  /** The offset that goes with `simpleScale`, brought to a round one within its error; null without a simple scale. */
  readonly simpleOffset?: number | null;
  /** 95 % intervals of scale and offset, by Student's t where readings are few. */
  readonly scaleInterval?: readonly [number, number];
  readonly offsetInterval?: readonly [number, number];
  /** Robust standard deviation of what is left over, in the reference's unit. */
  readonly residualSd?: number;
  /** Range of the reference over which the field was compared with it. */
  readonly range?: { readonly min: number; readonly max: number };
  /**
   * Chance that some field out of all that were tried goes with the reference as well as this by luck: correlation
   * test with the number of independent readings, times the fields tried. At most 1.
   */
  readonly chance?: number;
  /**
   * A tie that only rises or only falls but is no line: [raw, physical] ascending in raw, straight between. Scale and offset
   * are then those of the nearest line, and `residualSd` is the curve's.
   */
  readonly table?: readonly (readonly [number, number])[];
  /** What speaks for the first fit and against this one, nats: below `AS_GOOD_NATS` they cannot be told apart. */
  readonly behind?: number;
  /** Spearman's rank correlation, where there is a table. */
  readonly rank?: number;
}

export interface QuantityFits {
  readonly name: string;
  readonly unit: string;
  /** Best first. */
  readonly fits: readonly Fit[];
  readonly words: string;
}

/** How the references' clock was laid on the capture's. */
export interface ReferenceClock {
  /** Capture time = reference time + offset. */
  readonly offsetS: number;
  /** Standard error; null where it is not known. */
  readonly seS: number | null;
  /** 'not-needed': too few readings to tell, taken as they are. */
  readonly from: 'found' | 'given' | 'not-needed';
  /** [n] offsets tried and the evidence at each, nats over no tie at all: the best fields of all quantities together. */
  readonly curve: { readonly offsetS: readonly number[]; readonly agreement: readonly number[] } | null;
  /** Evidence that chance reaches once in a thousand; null where it was not worked out. */
  readonly chance: number | null;
}

export interface FitReport {
  readonly clockOffsetS: number;
  readonly clock?: ReferenceClock;
  /** How the offset came about, for a person. */
  readonly clockWords?: string;
  readonly quantities: readonly QuantityFits[];
}
