/** Makes what can send away from the page: the C of a large map takes longer than a keystroke may. Files only for the phrase that names what is about to be sent. */
import type { BenchRecord } from '../../../../handover/bench/record-schema.ts';
import { exportTrial, trialFiles, type TrialToRun } from '../../../../handover/bench/trial-files.ts';
import type { LeftOut } from '../../../../handover/encode-choice.ts';
import type { KeepAlivePlan } from '../../../../handover/needs/types.ts';
import {
  exportSchedule,
  scheduleFiles,
  type ScheduleAsked,
  type SendingFile,
} from '../../../../handover/sending/schedule-export.ts';
import { describeProblem, type Problem } from '../../../../kit/outcome.ts';
import { frameKey } from '../../../../map/identifiers.ts';
import type { SignalMap } from '../../../../map/schema.ts';
import { answerQuestions } from '../../../engine/asked-worker.ts';

export type SendingQuestion =
  | { readonly what: 'schedule'; readonly asked: ScheduleAsked; readonly typed: string }
  | {
      readonly what: 'trial';
      readonly map: SignalMap;
      readonly plan: KeepAlivePlan;
      readonly record: BenchRecord;
      readonly trial: TrialToRun;
      readonly typed: string;
    };

/** What is to be read and typed before anything is saved. */
export interface ToConfirm {
  readonly cautions: readonly string[];
  /** Empty where nothing is sent. */
  readonly phrase: string;
  /** Frames that go, by key. */
  readonly going: readonly string[];
  readonly leftOut: readonly LeftOut[];
  /** null unless the phrase was typed. */
  readonly files: readonly SendingFile[] | null;
}

const refusal = (problems: readonly Problem[]): Error => new Error(problems.map(describeProblem).join(' '));

function scheduleOf({ asked, typed }: Extract<SendingQuestion, { what: 'schedule' }>): ToConfirm {
  const made = exportSchedule(asked);
  if (!made.ok) throw refusal(made.problems);
  const { cautions, phrase, leftOut, schedule } = made.value;
  const going = schedule.frames.map(({ frame }) => frameKey(frame));
  return { cautions, phrase, going, leftOut, files: scheduleFiles(asked, made.value, typed) };
}

function trialOf({ map, plan, record, trial, typed }: Extract<SendingQuestion, { what: 'trial' }>): ToConfirm {
  const made = exportTrial(map, plan, record, trial);
  if (!made.ok) throw refusal(made.problems);
  const { cautions, phrase } = made.value;
  const files = trialFiles(map, record, made.value, typed);
  return { cautions, phrase, going: trial.sent, leftOut: [], files };
}

answerQuestions((question: SendingQuestion) =>
  question.what === 'schedule' ? scheduleOf(question) : trialOf(question),
);
