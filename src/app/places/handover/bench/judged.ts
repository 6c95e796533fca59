/** A recording that is not on record yet, as the record would judge it; and the record with it. Pure. */
import type { BenchRecord, BenchTrial } from '../../../../handover/bench/record-schema.ts';
import { benchState } from '../../../../handover/bench/next-step.ts';
import { withTrial } from '../../../../handover/bench/record.ts';
import { ranTrial } from '../../../../handover/bench/run-trial.ts';
import type { JudgedTrial } from '../../../../handover/bench/verdicts.ts';
import type { TrialToRun } from '../../../../handover/bench/trial-files.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import type { Observed } from './store.ts';

export interface Said {
  /** Whether anything moved or clicked that should not have; null where nobody watched. */
  readonly moved: boolean | null;
  /** What a person saw stands above the recording; null: the recording speaks. */
  readonly seen: BenchTrial['seen'];
  /** ISO 8601. */
  readonly at: string;
}

export const withObserved = (record: BenchRecord, { trial, ...read }: Observed, said: Said): BenchRecord =>
  withTrial(record, ranTrial(trial, { ...read, ...said }));

export function judgedSoFar(map: SignalMap, record: BenchRecord, observed: Observed): JudgedTrial {
  const added = withObserved(record, observed, { moved: null, seen: null, at: '' });
  return benchState(map, added).judged.at(-1) as JudgedTrial;
}

/** The trial that this very recording is on record of already: the same answer must not count twice. */
export const trialWith = ({ trials }: BenchRecord, { capture }: Pick<Observed, 'capture'>): number | null =>
  trials.find((trial) =>
    trial.capture?.files.some(({ sha256 }) => capture?.files.some((file) => file.sha256 === sha256)),
  )?.number ?? null;

/** What was read is of the trial that is to be run now. */
export const isOfTrial = ({ trial: read }: Observed, trial: TrialToRun): boolean =>
  read.number === trial.number &&
  read.aim === trial.aim &&
  read.sent.length === trial.sent.length &&
  read.sent.every((key) => trial.sent.includes(key));
