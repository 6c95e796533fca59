/** A trial that was planned and then run: what its recording is asked for, and how the record takes it. Command line and page say the same of it. */
import { frameKey } from '../../map/identifiers.ts';
import type { KeepAlivePlan } from '../needs/types.ts';
import type { ObservedTrial } from './observe.ts';
import { withFacts } from './plan-facts.ts';
import type { BenchRecord, BenchTrial } from './record-schema.ts';
import type { RunTrial } from './record.ts';
import type { TrialToRun } from './trial-files.ts';

const KINDS: Partial<Record<TrialToRun['aim'], BenchTrial['kind']>> = { stop: 'stop', vary: 'vary' };

export const ranTrial = (
  trial: TrialToRun,
  told: Required<Pick<RunTrial, 'at' | 'capture' | 'observed' | 'seen' | 'moved'>>,
): RunTrial => ({
  kind: KINDS[trial.aim] ?? 'set',
  aim: trial.aim,
  sent: trial.sent,
  stopped: trial.stopped ?? null,
  values: trial.value ? [trial.value] : [],
  sleepS: trial.sleepS,
  settleS: trial.settleS,
  ...told,
});

interface Planned {
  readonly trial: TrialToRun;
  readonly record: BenchRecord;
  readonly plan: KeepAlivePlan;
}
type Follows = NonNullable<ObservedTrial['follows']>;

/** @param follows the number of the part that should follow a varied signal */
export function observedTrial({ trial, record, plan }: Planned, follows: Follows | null): ObservedTrial {
  const periods = withFacts(plan, record.plan).frames.flatMap(({ frame, periodMs }) =>
    periodMs === null ? [] : [[frameKey(frame), periodMs] as const],
  );
  return {
    sent: trial.sent,
    candidates: record.candidates.map(({ key }) => key),
    stopped: trial.stopped ?? null,
    values: trial.value ? [trial.value] : [],
    follows,
    settleS: trial.settleS,
    periodsMs: Object.fromEntries(periods),
  };
}
