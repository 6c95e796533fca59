/** What is true of simulated traffic, in the words of the survey: who sends what, when, and why. */
import type { ClockEvent } from '../../../src/frames/table.ts';
import type { MapTiming } from '../../../src/map/schema.ts';
import type { Loss, Mode } from './plan.ts';

export type Kind = MapTiming['kind'];

export interface TrueKey {
  readonly bus: string;
  readonly id: number;
  readonly extended: boolean;
}

export interface TrueIdentifier extends TrueKey {
  readonly module: string;
  readonly kind: Kind;
  /** Kinds that the frames bear out as well, such as periodic for what should be sent on changes and had none. */
  readonly alsoRight: readonly Kind[];
  /** As the capture's clock shows it on average; null without one, or where modes differ. */
  readonly periodMs: number | null;
  /** Only where modes differ; null: not sent on a period in that mode. */
  readonly periodMsByMode: Readonly<Partial<Record<Mode, number | null>>> | null;
  readonly replyTo: TrueKey | null;
  readonly copyOf: TrueKey | null;
  readonly network: 'ring' | 'keep awake' | null;
  /** Frames on the wire while the logger ran, and those that it kept. */
  readonly sent: number;
  readonly recorded: number;
}

export interface Turn {
  /** A reset is of one module alone. */
  readonly because: 'mode' | 'reset';
  readonly fromS: number;
  readonly toS: number;
  /** Identifiers that it shows by. */
  readonly identifiers: number;
}

export interface TrafficTruth {
  readonly modules: readonly { readonly name: string }[];
  /** Identifiers with a frame in the recording. */
  readonly identifiers: readonly TrueIdentifier[];
  /** Seconds from the first frame, by the first logger's clock as it would run without jumps. */
  readonly modes: readonly { readonly mode: Mode; readonly fromS: number; readonly toS: number }[];
  /** Moments at which traffic on a period starts, stops or changes its pace, from the first effect to the last. */
  readonly turns: readonly Turn[];
  readonly boots: readonly { readonly module: string; readonly atS: number; readonly firstFrameS: number | null }[];
  readonly clockEvents: readonly {
    readonly kind: ClockEvent['kind'] | 'hole';
    readonly atS: number;
    readonly byS: number;
  }[];
  readonly lost: number;
  /** Frames that modules counted and never sent: a newer one took the place, or no place was left. */
  readonly dropped: number;
  /** Against the first bus: stamps are ahead by so much at the start of the capture and gain so much. */
  readonly loggers: readonly { readonly bus: string; readonly aheadS: number; readonly driftPpm: number }[];
  readonly unplugged: {
    readonly modules: readonly string[];
    /** Identifiers that would be there. */
    readonly missing: readonly TrueKey[];
    readonly reactions: readonly (TrueKey & { readonly loss: Loss | 'unanswered' | 'echo without source' })[];
  };
}
