/** What is true of an evidence vehicle: plain data that scorecards hold findings against. Times in seconds on the capture's clock. */
import type { Coding, Placement } from '../../../src/frames/bits.ts';
import type { SignalRole } from '../../../src/map/schema.ts';
import type { MarkFile } from '../../../src/actions/types.ts';
import type { ReferenceFile } from '../../../src/reference/types.ts';

export type Sort = 'number' | 'states' | 'flag';

/** A field as it is sent. Physical = coded raw x scale + offset. */
export interface TrueField extends Placement {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  /** As `trueFindings` name it; says nothing of the meaning. */
  readonly field: string;
  /** Name of the signal shown: unique to what this module says about it. */
  readonly signal: string;
  /** What is shown in the end: a copy by another module has the quantity of what it copies. */
  readonly quantity: string;
  readonly sender: string;
  readonly role: SignalRole;
  readonly kind: Sort;
  readonly coding: Coding;
  readonly unit: string;
  readonly scale: number;
  readonly offset: number;
  readonly periodMs: number;
}

export interface Doing {
  readonly action: string;
  readonly startS: number;
  /** Null: pressed and released at once. */
  readonly endS: number | null;
  readonly value: string | null;
}

export interface Consequence {
  readonly signal: string;
  /** From the doing to the middle of the answer, about; later ones have more. */
  readonly lagS: number;
}

export interface TrueAction {
  readonly action: string;
  /** `answered`: signals tell of it. `unanswered`: really done, and nothing on the bus tells. `idle`: marked, but never done. */
  readonly sort: 'answered' | 'unanswered' | 'idle';
  /** Signals that show the thing touched itself; all are right as the first. */
  readonly direct: readonly string[];
  /** In their order. */
  readonly consequences: readonly Consequence[];
  /** Always done together with these: what answers may be theirs, and only a recording of one without the other tells. */
  readonly confoundedWith: readonly string[];
  /** Raw unsigned values of a direct signal by the marks' values; null where the marks carry none. */
  readonly states: Readonly<Record<string, number>> | null;
  /** All of them, marked or not. */
  readonly doings: readonly Doing[];
}

/** A signal that belongs to a command, and how. */
export interface TruePair {
  readonly loop: string;
  readonly command: string;
  readonly partner: string;
  readonly role: Exclude<SignalRole, 'command' | 'unknown'>;
  /** Sends the command, and gets what the partner says unless the two are one. */
  readonly commander: string;
  readonly actuator: string;
  /** From command to partner where it follows it: dead time and lag; else null. */
  readonly lagS: number | null;
}

export interface TrueStep {
  readonly signal: string;
  readonly sender: string;
  readonly from: number;
  readonly to: number;
  /** Index of the step it waits for; -1: the event. */
  readonly after: number;
  readonly delayMs: readonly [number, number];
  /** Answers that step, which another module asked with; null where it answers none. */
  readonly answers: number | null;
  /** [repetitions] when it came about; null where it stayed away. */
  readonly atS: readonly (number | null)[];
}

export interface TrueSequence {
  readonly action: string;
  readonly edge: 'start' | 'end';
  readonly eventS: readonly number[];
  readonly steps: readonly TrueStep[];
  /** Flags that turn now and then and belong to no event. */
  readonly strangers: readonly string[];
}

/** A module that sleeps while the key is off. */
export interface TruePresence {
  readonly sender: string;
  readonly action: string;
  readonly edge: 'start' | 'end';
  readonly happens: 'begins' | 'falls-silent';
  /** [repetitions] */
  readonly atS: readonly number[];
}

export interface TrueReference {
  readonly name: string;
  readonly unit: string;
  readonly quantity: string;
  readonly sort: 'plain' | 'converted' | 'bent' | 'sparse' | 'steady' | 'rough';
  /** Signals that measure the quantity itself: any of them is right as the first. Empty where nothing on the bus does. */
  readonly own: readonly string[];
  /** Signals so near to it that they count neither way (copies, the other track, the same a little later). */
  readonly kin: readonly string[];
  /** What the reference reads = physical of an own field x gain + shift; converts units, and holds the meter's own error. */
  readonly gain: number;
  readonly shift: number;
  /** The reference is so much later than the vehicle, besides its clock. */
  readonly delayS: number;
  /** For bent ties: physical of the field to what the reference reads, in order. */
  readonly table: readonly (readonly [number, number])[] | null;
}

export interface ReferenceSet {
  readonly file: ReferenceFile;
  /** Capture time = reference time + this. */
  readonly offsetS: number;
  readonly truths: readonly TrueReference[];
}

/** A law that holds between signals, in their units, with what is left over (one standard deviation, in the first one's unit). */
export interface TrueRelation {
  readonly law: 'wheel-speeds' | 'ratio' | 'power' | 'charge' | 'cells';
  readonly signals: readonly string[];
  /** ratio: first / second. power: output / input. charge: capacity in Ah. cells: cells in all. wheel-speeds: 1. */
  readonly constant: number;
}

export interface TrueIdentifier {
  readonly did: number;
  readonly signal: string;
  readonly bytes: number;
  readonly scale: number;
  readonly offset: number;
}

export interface TrueExchange {
  readonly bus: string;
  readonly requestId: number;
  readonly answerId: number;
  readonly extended: boolean;
  readonly addressing: 'normal' | 'extended' | 'fixed';
  readonly atS: number;
  readonly request: readonly number[];
  /** The last answer, whole; pending ones counted apart. */
  readonly answer: readonly number[];
  readonly pending: number;
}

/** Sends nothing for a while, as a module does that starts anew. */
export interface Silence {
  readonly module: string;
  readonly fromS: number;
  readonly toS: number;
}

export interface EvidenceTruth {
  readonly machine: string;
  readonly modules: readonly string[];
  readonly fields: readonly TrueField[];
  readonly actions: readonly TrueAction[];
  /** Capture time = mark time + this in the middle of the recording; the mean reaction is in it. */
  readonly marksOffsetS: number;
  /** The marks' clock runs so much faster, parts per million. */
  readonly marksDriftPpm: number;
  /** When three quick brake presses were made at the beginning; empty where none were. */
  readonly syncTapsS: readonly number[];
  readonly pairs: readonly TruePair[];
  readonly sequences: readonly TrueSequence[];
  readonly presences: readonly TruePresence[];
  readonly relations: readonly TrueRelation[];
  readonly identifiers: readonly TrueIdentifier[];
  readonly exchanges: readonly TrueExchange[];
  /**
   * How often this recording shows what a limit, an enable or a fault is for: times the limit holds something back below the full range, times something is
   * asked for without the enable, times the fault stands while it matters.
   */
  readonly shown: Readonly<Record<string, number>>;
  readonly silences: readonly Silence[];
  readonly unplugged: string | null;
}

export interface MarkedAs {
  readonly file: MarkFile;
  readonly offsetS: number;
  readonly driftPpm: number;
}
