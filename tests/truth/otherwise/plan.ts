/** What a vehicle is before it runs: buses, modules with their clock, tasks and controllers, messages with what makes them go. */
import type { OscillatorPlan } from './oscillator.ts';

export type Mode = 'asleep' | 'on' | 'ready' | 'driving' | 'charging' | 'shutting down';

export interface BusPlan {
  readonly name: string;
  readonly bitrate: number;
}

/** How frames wait inside a module for the wire. */
export type Waiting =
  /** Each message has its mailbox, the lowest identifier goes first, a newer frame replaces one still waiting. */
  | 'mailboxes'
  /** One queue in order of asking; the head keeps back all others. */
  | 'queue'
  /** One buffer fed from a sorted list: what is in the buffer cannot be overtaken. */
  | 'one buffer';

export interface TaskPlan {
  /** By the module's own clock, a whole number of its ticks. */
  readonly periodUs: number;
  readonly phaseUs: number;
}

export interface ModulePlan {
  readonly name: string;
  readonly oscillator: OscillatorPlan;
  readonly tasks: readonly TaskPlan[];
  readonly waiting: Waiting;
  /** Frames that fit in the controller's queue. */
  readonly depth: number;
  /** Usual lateness of a task, work per message, and how often and how long something else holds the processor. */
  readonly lateUs: number;
  readonly workUs: number;
  readonly heldShare: number;
  readonly heldUs: number;
  readonly awakeIn: readonly Mode[];
  readonly bootUs: number;
  /** It goes on for so long after its modes are over. */
  readonly lingerUs: number;
  /** It follows a change of mode so much later. */
  readonly followsUs: number;
}

/** Sent every so many turns of a task; 0: not at all. */
export type EveryByMode = Readonly<Partial<Record<Mode, number>>>;

export type Trigger =
  | {
      readonly by: 'task';
      readonly task: number;
      readonly every: number;
      readonly at: number;
      readonly inMode?: EveryByMode;
    }
  /** Next = when this one was handed over + period + the work: its phase walks. */
  | { readonly by: 'own timer'; readonly periodUs: number }
  /** On a change of its states, looked at by a task. */
  | {
      readonly by: 'change';
      readonly task: number;
      readonly gapUs: number;
      /** After a change it is said so many times in all, so many turns apart. */
      readonly times: number;
      readonly timesEvery: number;
      /** And slowly all the while, every so many turns; 0: not. */
      readonly slowEvery: number;
      /** Whether a change starts the slow count anew. */
      readonly restarts: boolean;
    }
  /** At random moments, on average so often. */
  | { readonly by: 'whim'; readonly meanUs: number }
  | {
      readonly by: 'request';
      readonly of: number;
      readonly delayUs: number;
      readonly scatterUs: number;
      /** Answered at a turn of this task instead of at once; -1: at once. */
      readonly task: number;
      readonly answeredShare: number;
      /** One answer takes so many frames, so far apart. */
      readonly frames: number;
      readonly apartUs: number;
    }
  | { readonly by: 'copy'; readonly of: number; readonly delayUs: number; readonly task: number }
  | { readonly by: 'ring'; readonly ring: number; readonly node: number }
  | { readonly by: 'keep awake'; readonly periodUs: number; readonly hurryTimes: number; readonly hurryUs: number };

export type Item =
  | { readonly is: 'counter'; readonly byte: number; readonly high: boolean; readonly modulus: number }
  | {
      readonly is: 'value';
      readonly byte: number;
      readonly bytes: 1 | 2;
      readonly wave: readonly [number, number, number];
      readonly noise: number;
    }
  | { readonly is: 'states'; readonly byte: number }
  /** What another module's message last said there. */
  | { readonly is: 'echo'; readonly byte: number; readonly of: number; readonly from: number; readonly bytes: 1 | 2 }
  | { readonly is: 'fold'; readonly byte: number };

export type Loss = 'slows' | 'stops' | 'filled FF' | 'filled FE' | 'frozen' | 'default' | 'fault bit';

export interface MessagePlan {
  readonly name: string;
  readonly module: number;
  readonly bus: number;
  readonly id: number;
  readonly extended: boolean;
  readonly length: number;
  readonly trigger: Trigger;
  readonly still: readonly number[];
  readonly items: readonly Item[];
  /** Moments at which its states change, microseconds from the start of the recording. */
  readonly changesUs: readonly number[];
  /** What it does when a module it listens to is missing. */
  readonly without: { readonly module: number; readonly loss: Loss; readonly every: number } | null;
}

export interface RingPlan {
  readonly bus: number;
  readonly passUs: number;
  /** Messages of the ring, by node. */
  readonly messages: readonly number[];
}

export interface VehiclePlan {
  readonly seed: number;
  readonly buses: readonly BusPlan[];
  readonly modules: readonly ModulePlan[];
  readonly messages: readonly MessagePlan[];
  readonly rings: readonly RingPlan[];
}

export interface ModeSpan {
  readonly mode: Mode;
  readonly fromUs: number;
  readonly toUs: number;
}
