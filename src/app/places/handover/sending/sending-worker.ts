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
export type SendingMessage = { readonly number: number } & (
  { readonly made: ToConfirm } | { readonly problem: string }
);

type Answer = { readonly made: ToConfirm } | { readonly problem: string };

const refused = (problems: readonly Problem[]): Answer => ({ problem: problems.map(describeProblem).join(' ') });

function scheduleOf({ asked, typed }: Extract<SendingQuestion, { what: 'schedule' }>): Answer {
  const made = exportSchedule(asked);
  if (!made.ok) return refused(made.problems);
  const { cautions, phrase, leftOut, schedule } = made.value;
  const going = schedule.frames.map(({ frame }) => frameKey(frame));
  return { made: { cautions, phrase, going, leftOut, files: scheduleFiles(asked, made.value, typed) } };
}

function trialOf({ map, plan, record, trial, typed }: Extract<SendingQuestion, { what: 'trial' }>): Answer {
  const made = exportTrial(map, plan, record, trial);
  if (!made.ok) return refused(made.problems);
  const { cautions, phrase } = made.value;
  const files = trialFiles(map, record, made.value, typed);
  return { made: { cautions, phrase, going: trial.sent, leftOut: [], files } };
}

function answer(question: SendingQuestion): Answer {
  try {
    return question.what === 'schedule' ? scheduleOf(question) : trialOf(question);
  } catch (error) {
    return { problem: error instanceof Error ? error.message : String(error) };
  }
}

addEventListener('message', ({ data }: MessageEvent<{ number: number; question: SendingQuestion }>) => {
  const message: SendingMessage = { number: data.number, ...answer(data.question) };
  postMessage(message);
});
