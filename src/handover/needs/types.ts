/**
 * What the part needs from the rest of the vehicle, frame by frame: the plan's own answer, which the schedule in C, the
 * bench trials, the report and the page all take. Found from captures where there are any; from the map alone otherwise.
 */
import type { MapFrame } from '../../map/schema.ts';
import type { CannotBeProduced } from './cannot-be-produced.ts';

/** A bus, an identifier and whether it is of 29 bits: one entry of the map. */
export interface FrameKey {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

/** What was seen over the wake-ups of all captures: median, the least, the most, and how many. */
export interface SeenMs {
  readonly midMs: number;
  readonly lowMs: number;
  readonly highMs: number;
  readonly n: number;
}

/** One reason to believe that the part needs this frame, or that it does not. */
export interface NeedReason {
  readonly kind: 'bench' | 'absence' | 'lost-communication-code' | 'order' | 'network' | 'by-hand';
  /** Id of the capture that shows it, where one does. */
  readonly capture?: string;
  readonly speaksFor: 'needed' | 'not-needed';
  /** For a person, with figures. */
  readonly words: string;
}

export interface PlannedFrame {
  readonly frame: MapFrame;
  /** In the mode that the part is kept alive for; null where it has none. */
  readonly periodMs: number | null;
  /** Place within the period against the other planned frames of its sender, 0 <= phaseMs < periodMs; null where unknown. */
  readonly phaseMs: number | null;
  /** Why there is no phase; empty where there is one. */
  readonly phaseWhy: string;
  /** From the first frame of the bus after a waking to the first of this one; null where no waking was seen. */
  readonly firstAfterWakeMs: SeenMs | null;
  /** Place among the planned frames of its bus after a waking, from 1; null where unknown. */
  readonly order: number | null;
  readonly need: MapFrame['need']['verdict'];
  readonly reasons: readonly NeedReason[];
  /** Null where it can be produced. */
  readonly whyNotProduced: string | null;
  /** Signals in it that may move the machine or switch its battery; none does not mean that it is harmless. */
  readonly mayCommand: readonly string[];
}

export interface KeepAlivePlan {
  /** Needed first, then by the likelihood of it, then by identifier. */
  readonly frames: readonly PlannedFrame[];
  /** Captures looked at: none, and phases and order are unknown. */
  readonly captures: readonly string[];
  /** Keyed tags, pairing: read first. */
  readonly cannotBeProduced: readonly CannotBeProduced[];
  /** What the captures could not tell, and what to record or try for it. */
  readonly open: readonly string[];
}
