/** What one capture shows of who is needed, as plain data: the job `needs` gives it, the plan takes it. Buses are called as the map calls them. */
import type { FrameKey } from '../types.ts';

/** Who sends a frame, as the map says. */
export interface KnownSender extends FrameKey {
  readonly group: string;
}

/** Place of a frame in the rhythm of its sender. */
export interface SeenPhase {
  /** Behind the anchor, 0 <= ms < period. */
  readonly ms: number;
  /** Robust standard deviation of single frames around it. */
  readonly spreadMs: number;
  readonly n: number;
  /** The sender's slowest steady frame, whose own phase is 0. */
  readonly anchor: FrameKey;
}

/** One start after a waking that was seen. */
export interface SeenStart {
  /** Place in `CaptureObservations.wakings`. */
  readonly waking: number;
  /** From the first frame on its bus. */
  readonly delayMs: number;
}

export interface FrameSeen extends FrameKey {
  readonly count: number;
  /** In the mode that a part is kept alive for; null where it has no period there. */
  readonly periodMs: number | null;
  /** That mode; null where the capture tells none. */
  readonly mode: string | null;
  readonly phase: SeenPhase | null;
  /** Why there is no phase, for a person; empty where there is one. */
  readonly phaseWhy: string;
  readonly starts: readonly SeenStart[];
  readonly network: { readonly kind: 'partial-network' | 'ring'; readonly why: string } | null;
}

/** A fault code of lost communication, as a module gave it when it was asked. */
export interface LostCode {
  readonly bus: string;
  /** Who answered. */
  readonly id: string;
  readonly extended: boolean;
  readonly code: string;
  readonly isFailing: boolean;
  readonly isConfirmed: boolean;
  /** Seconds from the capture's origin. */
  readonly atS: number;
}

/** A tester unlocked a module: service 27 of ISO 14229-1. */
export interface SeenUnlock {
  readonly bus: string;
  readonly asks: string;
  readonly answers: string;
  readonly extended: boolean;
  readonly times: number;
}

/** Two senders that exchange what looks random once after each waking. */
export interface SeenPairing {
  readonly challenge: FrameKey;
  readonly response: FrameKey;
  /** Wakings after which both came, of all wakings seen of their bus. */
  readonly wakings: number;
  readonly of: number;
  /** Share of bits that differ from waking to waking, of those of bytes that move: about a half where they are random. */
  readonly bitsDiffering: number;
  readonly bits: number;
  readonly delayMs: number;
}

export interface CaptureObservations {
  readonly capture: string;
  /** Wakings in which modules were seen to start. */
  readonly wakings: readonly { readonly bus: string; readonly fromS: number }[];
  readonly frames: readonly FrameSeen[];
  readonly lostCodes: readonly LostCode[];
  /** Modules that were asked for their fault codes and answered. */
  readonly askedForFaults: readonly FrameKey[];
  readonly unlocks: readonly SeenUnlock[];
  readonly pairings: readonly SeenPairing[];
}
