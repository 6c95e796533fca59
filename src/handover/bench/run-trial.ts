/** A trial that was planned and then run, as the record takes it: command line and page say the same of it. */
import type { BenchTrial } from './record-schema.ts';
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
