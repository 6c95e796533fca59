/** Marks (what was done, and when) and links (which fields answer, how surely). */
import type { Placement } from '../frames/bits.ts';
import type { When } from '../map/schema.ts';

/** One occurrence of an action. Times are in seconds on the marks' own clock until shifted. */
export interface Mark {
  readonly action: string;
  readonly startS: number;
  /** null: an instant. */
  readonly endS: number | null;
  readonly value?: string;
  readonly note?: string;
}

export interface MarkFile {
  readonly marks: readonly Mark[];
  /** 'epoch': seconds since 1970 (1e8 and above); 'capture': seconds from the capture's origin. */
  readonly timeBase: 'epoch' | 'capture';
}

export type LinkDirection = 'onset' | 'release' | 'level';

/** A mark's value and the field's raw value (unsigned) that goes with it, seen after so many of its marks. */
export interface MarkedState {
  readonly value: string;
  readonly raw: number;
  readonly seen: number;
  readonly of: number;
}

/** How often a field moves as it does at an action's marks. */
export interface Moves {
  /** Marks at which it does, of so many. */
  readonly at: number;
  readonly of: number;
  /** Times that it does so away from them all. */
  readonly otherwise: number;
}

export interface Link extends Placement {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly field: string;
  readonly when: When;
  /** Raw units, signed: mean after minus mean before. */
  readonly effect: number;
  /** In robust standard deviations of the field's own changes at random times. */
  readonly effectSd: number;
  /** 95 % interval of the effect by resampling the repetitions. */
  readonly effectInterval: readonly [number, number];
  readonly lagS: number;
  readonly p: number;
  readonly q: number;
  readonly direction: LinkDirection;
  /** Marks that had data on both sides. */
  readonly n: number;
  /** How surprising the answer is for this field, nats: what p is counted on. */
  readonly surprise?: number;
  /** Marks that it answers at about one lag, no wider than human reactions spread; of a level, its beginnings. */
  readonly inTime?: number;
  /** The field answers by changing, to and fro: `effect` is then the mean size of its changes. */
  readonly alternating?: boolean;
  /** Left out where only chance is told of the link. */
  readonly moves?: Moves;
  /** The field only counts, and answers with its pace: effect and its interval are raw units a second. */
  readonly isPace?: boolean;
  /** Which field value goes with which value of the marks ("D", "R"), where they go together one to one. */
  readonly states?: readonly MarkedState[];
  /** Actions done along with this one that the field answers as well, also where they came alone: rather theirs. */
  readonly rather?: readonly string[];
}

export type MarkEvent = 'start' | 'end';

/** An action that (nearly) always came within moments of another. */
export interface Together {
  /** What is done along with it, and whether it begins or ends then. */
  readonly action: string;
  readonly event: MarkEvent;
  /** Event of the action itself. */
  readonly own: MarkEvent;
  /** Marks of the action that had the other beside them, of so many. */
  readonly times: number;
  readonly of: number;
  /** Mean time from the action's event to the other's, seconds. */
  readonly lagS: number;
  /** Events of the other that came without the action. */
  readonly alone: number;
  /** The recording that would tell, for a person. */
  readonly next: string;
}

/** What would have been claimed, had it been there. */
export interface Power {
  /** Marks that a flag must have answered which otherwise rests; null: not even all of them would have done. */
  readonly flagAnswers: number | null;
  readonly of: number;
  /** How far a number must have moved at each mark, in standard deviations of its own changes at random times. */
  readonly numberSd: number;
}

export interface ActionLinks {
  readonly action: string;
  readonly marks: number;
  /** Strongest first. */
  readonly links: readonly Link[];
  /** Fields times directions tested: the family that q is over. */
  readonly tested: number;
  /** For a person, where there is nothing to report or too little to say: "2 presses: 4 more would do". */
  readonly words: string;
  /** Where nothing is claimed: what would have been. */
  readonly power?: Power;
  /** What was always done with it, so that its answers may be the other's; left out where nothing was. */
  readonly together?: readonly Together[];
}

/** How the marks' clock runs against the capture's. */
export interface Drift {
  /** Parts per million by which the marks' clock runs fast, and the standard error. */
  readonly ppm: number;
  readonly sePpm: number;
  /** Time between the first and the last answer that tells. */
  readonly overS: number;
  /** When marks stand as far off as the offset says, seconds on the capture's clock. */
  readonly middleS: number;
}

/** Three quick presses, marked and seen, as a recording begins or ends. */
export interface SyncTaps {
  readonly action: string;
  readonly edge: MarkEvent;
  /** [3] When they were marked to start, as they were before the offset, and how much later each was seen; seconds. */
  readonly atS: readonly number[];
  readonly lagS: readonly number[];
  /** Capture time = mark time + this, by these three alone. */
  readonly offsetS: number;
  readonly seS: number;
  /** The field that shows them first. */
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  readonly field: string;
  /** Fields that show them. */
  readonly fields: number;
}

export interface OffsetFinding {
  /** Capture time = mark time + offset; holds the person's mean reaction delay. */
  readonly offsetS: number;
  /** Left out where the clocks keep step as far as can be told; else the offset is that of the middle. */
  readonly drift?: Drift;
  /** The next best offset tried, and how much of the peak's height it reaches, 0..1; left out where the search was too narrow. */
  readonly runnerUp?: { readonly offsetS: number; readonly share: number };
  /** What three quick presses say by themselves, where they were marked and only one place of the capture fits them. */
  readonly taps?: readonly SyncTaps[];
  /** Standard error, or null where it was given by hand. */
  readonly seS: number | null;
  readonly from: 'found' | 'given' | 'not-needed' | 'not-found';
  /** [n] offsets tried and the agreement at each, for the curve. */
  readonly curve: { readonly offsetS: readonly number[]; readonly agreement: readonly number[] } | null;
  /** Agreement that chance reaches once in a thousand. */
  readonly chance: number | null;
  readonly words: string;
}

export interface LinkReport {
  readonly clockOffsetS: number;
  readonly clock: OffsetFinding;
  readonly actions: readonly ActionLinks[];
}

interface StepTold {
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
  /** Least and greatest time since the sequence's first step of the repetition, milliseconds. */
  readonly delayMs: readonly [number, number];
  /** Repetitions in which it came about when due. */
  readonly seen: number;
  /** Repetitions in which it came about later than the others; in those left over it stayed away. */
  readonly late: number;
  /** Null where the event was too seldom to tell it from chance. */
  readonly q: number | null;
  /** [repetitions] when it came about, seconds on the capture's clock; null in those that lack it. */
  readonly atS: readonly (number | null)[];
}

/** A request that a step answers: it comes so long after it each time, and never without it. */
export interface StepAnswer {
  /** Index of the request among the sequence's steps. */
  readonly step: number;
  /** From the request to the answer, milliseconds. */
  readonly delayMs: readonly [number, number];
  /** Times that both came, over the whole capture. */
  readonly times: number;
}

/** One change of a state or flag that follows an event. */
export interface FieldStep extends StepTold, Placement {
  readonly kind: 'field';
  readonly field: string;
  readonly when: When;
  /** Unsigned raw values. */
  readonly from: number;
  readonly to: number;
  /** Null where it answers no request of another sender, as far as can be told. */
  readonly answers: StepAnswer | null;
}

/** Frames that begin to be sent, or are sent no more; `id` is the first one seen, or the last. */
export interface SenderStep extends StepTold {
  readonly kind: 'begins' | 'falls-silent';
  /** All that do so together, of one sender as far as that is known. */
  readonly frames: readonly { readonly bus: string; readonly id: string; readonly extended: boolean }[];
}

export type SequenceStep = FieldStep | SenderStep;

export interface Sequence {
  /** The action, its value where marks carry several, and whether it is the end of it. */
  readonly name: string;
  readonly event: string;
  /** Repetitions. */
  readonly n: number;
  /** [repetitions] when it was done, as marked, seconds on the capture's clock. */
  readonly atS: readonly number[];
  /** In the order of their usual delays. */
  readonly steps: readonly SequenceStep[];
  /** For a person, where there is nothing to tell or too little to be sure; empty otherwise. */
  readonly words: string;
}
