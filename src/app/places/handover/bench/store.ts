/** What the bench shows and waits for, beside the record: a recording that is being read, and what it showed until the person has answered. In memory. */
import { create } from 'zustand';
import type { BenchTrial, TrialObservation } from '../../../../handover/bench/record-schema.ts';
import type { TrialToRun } from '../../../../handover/bench/trial-files.ts';

/** A recording that was read, and is not on record yet. */
export interface Observed {
  readonly trial: TrialToRun;
  /** null: nothing was heard, and no file can show that. */
  readonly capture: BenchTrial['capture'];
  readonly observed: TrialObservation;
}

interface BenchViewState {
  /** Who measures; the last one on record where nobody said. */
  readonly by: string | null;
  /** A trial that the person asked for, once a set works. */
  readonly own: TrialToRun | null;
  /** The number of the part that should follow it, by frame and signal. */
  readonly follows: { readonly frame: string; readonly signal: string } | null;
  readonly reading: { readonly share: number; stop(): void } | null;
  readonly observed: Observed | null;
  readonly problem: string | null;
  set(part: Partial<Omit<BenchViewState, 'set'>>): void;
}

export const useBenchView = create<BenchViewState>((set) => ({
  by: null,
  own: null,
  follows: null,
  reading: null,
  observed: null,
  problem: null,
  set,
}));
