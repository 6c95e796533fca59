/** What a comparison of two captures says. Plain data, in the shape that `compare --json` prints and the page draws. */
import type { Problem } from '../../kit/outcome.ts';

export interface ComparedFrame {
  /** Of the capture that has it; of the first where both do. */
  readonly bus: string;
  readonly id: string;
  readonly extended: boolean;
}

export interface LoneFrame extends ComparedFrame {
  readonly count: number;
  /** How many frames the other capture would hold at the same rate; null for a single frame. */
  readonly expected: number | null;
}

export type ByteChange =
  /** Moved in A, constant in B at FF or FE: "no data". */
  | 'filling'
  /** Moved in A, constant throughout B. */
  | 'became constant'
  /** Moved throughout A; in B moved at first and then held one value to the end. */
  | 'frozen'
  /** Constant in A, moves in B. */
  | 'began to move'
  /** Constant in A at FF or FE, moves in B. */
  | 'filling ended'
  /** Constant in both, at different values. */
  | 'other constant';

export interface ChangedPayload extends ComparedFrame {
  readonly bytes: readonly number[];
  readonly how: ByteChange;
  /**
   * Moves that were due at the rate of the capture in which the bytes moved, the least of them; null where none moved.
   */
  readonly due: number | null;
  /** False where the bytes move in bursts, as driving makes them: then rest in another drive says little. */
  readonly steady: boolean;
}

export interface Rate {
  readonly perSecond: number;
  /** 95 in a hundred such intervals hold the true rate (Poisson counts; Garwood 1936, by the normal approximation of Wilson and Hilferty 1931). */
  readonly low: number;
  readonly high: number;
}

export interface ErrorsCompared {
  readonly bus: string;
  readonly perSecondA: number;
  readonly perSecondB: number;
  readonly rateA: Rate;
  readonly rateB: Rate;
  /** Seconds of the second capture at which its first error frame came; null without one. */
  readonly startsS: number | null;
  /** The same rate in both by chance: p of the split of all error frames between the two. */
  readonly p: number;
  readonly verdict: 'appeared' | 'more' | 'fewer' | 'gone' | 'alike';
}

export interface AppearanceChange extends ComparedFrame {
  /** From the first frame on its bus to its own first one, in the first waking that was seen. */
  readonly delayMsA: number;
  readonly delayMsB: number;
  /** Change against what the identifiers of its bus shift by together, and its standard error. */
  readonly laterMs: number;
  readonly laterSeMs: number;
  /** Place among the identifiers that both have, from 1. */
  readonly rankA: number;
  readonly rankB: number;
}

export interface AppearanceCompared {
  /** Identifiers that both captures saw come after a waking. */
  readonly compared: number;
  readonly changed: readonly AppearanceChange[];
  /** For a person: how it was compared, or why it was not. */
  readonly why: string;
}

export interface Judged extends ComparedFrame {
  /** Letter of its sender group in the first capture; null where timing gives none. */
  readonly group: string | null;
  /** 0..1. */
  readonly confidence: number;
  /** For a person, with figures. */
  readonly why: string;
}

export interface JudgedCopy extends Judged {
  readonly copyOf: ComparedFrame;
}

export type ReactionKind =
  | 'slower'
  | 'faster'
  /** There at first, then silent while its bus went on. */
  | 'stopped later'
  /** Only in the first, though its sender goes on. */
  | 'stops with it'
  /** Only in the second. */
  | 'starts'
  /** Bytes or bits at a pattern that stands for "no data". */
  | 'no data'
  /** Constant at a value that it never had in the first. */
  | 'another constant'
  /** Moved steadily before, whatever was done; constant now. */
  | 'became constant'
  | 'frozen'
  | 'flag began'
  /** A question whose answers no longer come. */
  | 'unanswered';

export interface Reaction extends Judged {
  readonly how: ReactionKind;
  readonly bytes: readonly number[];
  readonly periodMsA?: number;
  readonly periodMsB?: number;
}

/** One sender group of the first capture, and how much of it the second still has. */
export interface GroupFate {
  readonly group: string;
  readonly members: number;
  readonly silent: number;
  readonly slower: readonly ComparedFrame[];
  readonly faster: readonly ComparedFrame[];
  /** Other reactions of its members. */
  readonly otherwise: number;
}

export interface Absent {
  /** What the missing module sent. */
  readonly sentBy: readonly Judged[];
  /** Copies that a gateway made of those: they stop with the original. */
  readonly copies: readonly JudgedCopy[];
  readonly reacts: readonly Reaction[];
  /** Only in the first, and the reason may lie elsewhere: another drive, another mode, a rare frame. */
  readonly undecided: readonly Judged[];
  readonly groups: readonly GroupFate[];
  readonly why: string;
}

export interface Comparison {
  /** Bus of the first -> bus of the second, matched by their identifiers. */
  readonly buses: Readonly<Record<string, string | null>>;
  readonly onlyInA: readonly LoneFrame[];
  readonly onlyInB: readonly LoneFrame[];
  readonly timingChanged: readonly (ComparedFrame & { readonly periodMsA: number; readonly periodMsB: number })[];
  readonly payloadChanged: readonly ChangedPayload[];
  readonly appearance: AppearanceCompared;
  /** Where either has any. */
  readonly errors: readonly ErrorsCompared[];
  readonly absent: Absent;
  readonly warnings: readonly Problem[];
}

export interface CompareOptions {
  /** Bus of the first -> bus of the second. */
  readonly busMap?: Readonly<Record<string, string>>;
}
