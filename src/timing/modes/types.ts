/** Modes of the vehicle as a capture shows them. Seconds are from the capture's origin. */

/** What somebody did, on the capture's clock. Words are free: they are read in `mark-states.ts`. */
export interface ModeMark {
  readonly action: string;
  readonly startS: number;
  /** null: an instant. */
  readonly endS: number | null;
  readonly value?: string;
  readonly note?: string;
}

export interface ModeSpan {
  /**
   * "asleep", "waking", "on", "ready", "driving", "charging" or "shutting down". Steady traffic of another kind under the same name gets a
   * number: "on 2". Without marks steady traffic is "on": what the vehicle does then is not in the frames' timing.
   */
  readonly mode: string;
  readonly fromS: number;
  readonly toS: number;
  /** For a person, with figures. */
  readonly why: string;
}
