/** Physical laws that hold between fields, each with what it leaves open and what chance makes of it. Found without units. */
import type { FieldPlace } from '../../fields/same-value/types.ts';

/**
 * `alike-speeds`: several speeds of one frame, equal but in curves. `constant-ratio`: two speeds of different senders, one a fixed multiple of the other.
 * `power-balance`: a current goes with the product of a torque and a speed. `charge-sum`: a level goes with the sum over time of a current.
 * `cell-sum`: many alike values add up to what another field shows.
 */
export const CHECK_NAMES = ['alike-speeds', 'constant-ratio', 'power-balance', 'charge-sum', 'cell-sum'] as const;
export type CheckName = (typeof CHECK_NAMES)[number];

export interface CheckMember {
  /** What it stands for in the law: "speed", "torque", "power" (or a current, as the voltage hardly changes), "current", "level", "cell", "sum". */
  readonly part: string;
  readonly place: FieldPlace;
}

export interface CrossCheck {
  readonly check: CheckName;
  readonly members: readonly CheckMember[];
  /** Share of the last member's variance that the law leaves open; for alike speeds of the spread between them, of their size. */
  readonly residual: number;
  /** Instants, or stretches of time, compared. */
  readonly n: number;
  readonly p: number;
  readonly q: number;
  /** What the law found besides: a ratio, a share of losses. Raw units. */
  readonly figures: Readonly<Record<string, number>>;
  /** For a person. */
  readonly why: string;
}

export interface CrossCheckReport {
  readonly checks: readonly CrossCheck[];
  /** Combinations that were tried: the family that q is over. */
  readonly tried: number;
}
