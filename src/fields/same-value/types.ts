/** What is said of fields that show the same quantity. Figures are of raw values after the coding: of `member`, from those of the group's source. */
import type { ByteOrder, Piece } from '../../frames/bits.ts';
import type { When } from '../../map/schema.ts';

/** Where a field stands. */
export interface FieldPlace {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  /** The finder's name for it. */
  readonly field: string;
  readonly lsb: { readonly byte: number; readonly bit: number };
  readonly length: number;
  readonly order: ByteOrder;
  readonly continues?: readonly Piece[];
  readonly when: When;
}

export interface SameValueMember {
  readonly place: FieldPlace;
  /** member = scale x source + offset, with standard errors; null where only turns were compared. */
  readonly line: {
    readonly scale: number;
    readonly scaleSe: number;
    readonly offset: number;
    readonly offsetSe: number;
    /** Share of the member's variance that source, rounding and noise leave open. */
    readonly unexplained: number;
  } | null;
  /** What source and member show at the same time, where turns were compared. */
  readonly values: readonly (readonly [number, number])[] | null;
  /** How much later than the source it shows the value, with its standard error. */
  readonly lagMs: number;
  readonly lagMsSe: number;
  /** Whether the lag is beyond three of its errors: only then one is said to lead. */
  readonly follows: boolean;
  /** Pairs of values, or moments of turning, that were compared. */
  readonly n: number;
  readonly p: number;
  readonly q: number;
}

export interface SameValueGroup {
  /** The one that the others follow; where no lag tells, the one that shows most. */
  readonly source: FieldPlace;
  readonly members: readonly SameValueMember[];
}

export interface SameValueReport {
  readonly groups: readonly SameValueGroup[];
  /** Fields that changed often enough to be compared. */
  readonly fields: number;
  /** Pairs that q counts as tests. */
  readonly pairs: number;
}
