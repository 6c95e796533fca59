/** What the survey says of a capture: the inventory, in the shape that `survey --json` prints and the page draws. */
import type { Gap } from '../frames/pictures/types.ts';
import type { ClockEvent, ClockKind, Direction, LoggerClock } from '../frames/table.ts';
import type { MapTiming } from '../map/schema.ts';
import type { BusBatching } from './clock/health.ts';
import type { ClockJump } from './clock/jumps.ts';
import type { ClockPause, FramesLost } from './clock/losses.ts';
import type { Tick } from './clock/tick.ts';
import type { ModeSpan } from './modes/types.ts';
import type { NetworkRole } from './network/network.ts';
import type { Skew } from './senders/skew.ts';

export type { ModeMark, ModeSpan } from './modes/types.ts';
export type { BusRates } from '../frames/wire.ts';
export type { Gap };

export interface SurveyFrame {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly direction: Direction;
  /** Data frames. */
  readonly count: number;
  /** The usual payload length, bytes. */
  readonly length: number;
  /** Every length seen, ascending, with how often. */
  readonly lengths: readonly { readonly length: number; readonly count: number }[];
  readonly fd: boolean;
  readonly timing: MapTiming;
  /** Why this kind and period, with figures, for a person. */
  readonly timingWhy: string;
  /** Frames that the grid expects between the first and the last, gaps apart, and that are not there; null without a grid. */
  readonly missed: number | null;
  /** Median interval in ms whatever the kind; null with fewer than two frames. */
  readonly medianIntervalMs: number | null;
  readonly firstS: number;
  readonly lastS: number;
  readonly gaps: readonly Gap[];
  /** Letter of its sender group, or null where it is of none surely enough. */
  readonly group: string | null;
  /** That the group is right, 0..1; null without one. */
  readonly groupConfidence: number | null;
  /** Why this group or none, with figures, for a person. */
  readonly groupWhy: string;
  /** Set where a person said which group it is of: what timing had said. */
  readonly byHand?: { readonly timingGroup: string | null; readonly timingConfidence: number | null };
  /** How fast its sender's clock runs against the capture's, by both estimators; null where it does not show. */
  readonly skew: Skew | null;
  /** Set where a gateway sends it: what it copies, and how long after. */
  readonly copyOf: {
    readonly bus: string;
    readonly id: string;
    readonly extended: boolean;
    readonly delayMs: number;
  } | null;
  /** Set where it is network management: what kind, which node, and what a controller in its place has to do. */
  readonly network: NetworkRole | null;
  /** Distinct payloads, counted up to 65,536. */
  readonly distinctPayloads: number;
}

export interface SurveyBus {
  readonly name: string;
  /** Data frames received on it. */
  readonly frames: number;
  /** Data frames that the logger itself put on it: they count in the load. */
  readonly sent: number;
  readonly errors: number;
  readonly remotes: number;
  readonly bitrate: number | null;
  readonly dataBitrate: number | null;
  /** Mean share of bus time, 0..1; null without a bit rate, and where the frames would need more time than there was. */
  readonly load: number | null;
  /** Of the busiest second, 1 at most: stamps of batches may crowd more into it than the wire can carry. */
  readonly peakLoad: number | null;
  /** How the load came about, or why there is none, for a person. */
  readonly loadWhy: string;
  /** Mean stuff bits per frame and the number of distinct payloads they were counted over. */
  readonly stuffing: { readonly meanBits: number; readonly sampled: number } | null;
  /** Stretches in which the whole bus was silent. */
  readonly gaps: readonly Gap[];
}

export interface SurveyClock {
  readonly kind: ClockKind;
  /** Smallest step that stamps are multiples of, microseconds. */
  readonly resolutionUs: number;
  /** A tick that is no decimal fraction of a second, where stamps count such; null else. */
  readonly tick: Tick | null;
  /** Share of frames that carry the very stamp of the frame before on the same bus. */
  readonly sameStampShare: number;
  /** Buses whose frames were fetched and stamped several at a time. */
  readonly batches: readonly BusBatching[];
  /** Of the clock itself, found by phases that all move alike; those that the reader saw are `events`. */
  readonly jumps: readonly ClockJump[];
  /** Silences of whole buses, and whose silence they were. */
  readonly pauses: readonly ClockPause[];
  /** Frames that the recording lacks; null where the file has no stamps. */
  readonly lost: FramesLost | null;
  /** How the clocks of several loggers lie to each other, the first one's left out; empty where there is but one clock. */
  readonly loggers: readonly LoggerClock[];
  readonly events: readonly ClockEvent[];
  readonly outOfOrder: number;
  /** In words for a person: what these stamps can and cannot carry. */
  readonly verdict: string;
}

export interface SurveyGroup {
  readonly group: string;
  /** As a person named the sender; left out until then. */
  readonly name?: string;
  readonly ids: readonly string[];
  /** How much faster its clock runs than that of the median group, parts per million; null where there is but one group. */
  readonly skewPpm: number | null;
  /** The same identifiers in full, in the order of `ids`. */
  readonly members: readonly {
    readonly bus: string;
    readonly id: string;
    readonly extended: boolean;
    /** That it belongs here, 0..1. */
    readonly confidence: number;
  }[];
  /** For a person, with figures. */
  readonly why: string;
}

export interface Survey {
  readonly capture: {
    readonly frames: number;
    readonly rejected: number;
    readonly originS: string;
    readonly startS: number;
    readonly durationS: number;
    readonly clock: SurveyClock;
  };
  readonly buses: readonly SurveyBus[];
  readonly frames: readonly SurveyFrame[];
  readonly groups: readonly SurveyGroup[];
  /** What the vehicle did, as far as who sends when shows it, from the first frame to the last; empty without stamps. */
  readonly modes: readonly ModeSpan[];
}
