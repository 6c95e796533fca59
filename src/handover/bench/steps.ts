/** What may be next on the bench, and where it stands. */
import type { TrialBounds } from './bounds.ts';
import type { CountingTrials } from './counting.ts';
import type { Aim } from './search.ts';
import type { JudgedTrial } from './verdicts.ts';

export interface PlannedTrial {
  readonly number: number;
  readonly aim: Aim;
  /** Keys, in the order of the candidates. */
  readonly sent: readonly string[];
  /** Without supply before power-up. */
  readonly sleepS: number;
  /** From power-up to the end of the recording. */
  readonly settleS: number;
}

export type BenchStep =
  /** Safety items of the checklist are not answered. */
  | { readonly kind: 'measure'; readonly forbids: readonly string[]; readonly warns: readonly string[] }
  | {
      readonly kind: 'trial';
      readonly trial: PlannedTrial;
      readonly known: readonly string[];
      readonly warns: readonly string[];
    }
  /** A minimal set: none of it can be left out; there may be others. */
  | { readonly kind: 'found'; readonly needed: readonly string[]; readonly replaceable: readonly string[] }
  /** It does not work with everything sent: wiring, or frames that cannot be sent. */
  | { readonly kind: 'checklist-first'; readonly reasons: readonly string[] }
  /** A fault no longer clears between trials. */
  | { readonly kind: 'fault-stays'; readonly sleptS: number }
  /** Trials of one set were unclear one behind the other: a person has to say what the part does, or mend what the reasons tell. */
  | { readonly kind: 'cannot-tell'; readonly trial: PlannedTrial; readonly reasons: readonly string[] }
  | { readonly kind: 'nothing-to-try'; readonly reasons: readonly string[] }
  | { readonly kind: 'bound-reached'; readonly known: readonly string[] };

export interface PlainState {
  readonly step: BenchStep;
  /** In the order of the record. */
  readonly judged: readonly JudgedTrial[];
  readonly counting: CountingTrials;
  readonly bounds: TrialBounds;
}

export interface BenchState extends PlainState {
  /** Keys of candidates that are left out, because with everything sent the part does not work; empty where it does. */
  readonly setOut: readonly string[];
}
