/** The files of one trial: a sending schedule in C for its set of frames, the code that it stands on, and what to do, step by step. */
import { bad, good, type Outcome } from '../../kit/outcome.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { SignalMap } from '../../map/schema.ts';
import { cautionsFor } from '../cautions.ts';
import type { KeepAlivePlan } from '../needs/types.ts';
import { markdownText } from '../report/markup-text.ts';
import { exportSchedule, scheduleFiles, type ScheduleAsked, type ScheduleExport } from '../sending/schedule-export.ts';
import type { Schedule } from '../sending/schedule.ts';
import { withFacts } from './plan-facts.ts';
import type { BenchRecord } from './record-schema.ts';
import type { Aim } from './search.ts';

/** What is run next: a set from the search, or one frame of a set that falls silent. */
export interface TrialToRun {
  readonly number: number;
  readonly aim: Aim | 'stop' | 'vary';
  readonly sent: readonly string[];
  readonly sleepS: number;
  readonly settleS: number;
  readonly stopped?: { readonly key: string; readonly atS: number };
  /** A signal sent with another value than at rest. */
  readonly value?: { readonly frame: string; readonly signal: string; readonly value: number };
}

export interface TrialFile {
  readonly name: string;
  readonly text: string;
}

export const AIMS: Readonly<Record<TrialToRun['aim'], string>> = {
  everything: 'Does the part work with everything sent? If not, the wiring comes first.',
  nothing: 'What does the part show with nothing sent?',
  control: 'Everything again: did a fault of the trials before stay?',
  subset:
    'Everything sent does not work, and the wiring is sure: does it work without these, one of which may disturb it?',
  search: 'Which half of the frames in question does the part need?',
  enough: 'The set found, watched for longer: does a fault come late?',
  needed: 'Everything but one: does the part work without it?',
  replaceable: 'The set found but one: may that one be left out?',
  vary: 'Does the part follow a signal that is sent with another value?',
  stop: 'How long does the part bear the silence of one frame?',
};

const list = (items: readonly string[]): string[] => items.map((item) => `- ${markdownText(item)}`);

function stopLine({ stopped }: TrialToRun, { names, frames }: Schedule): string[] {
  if (!stopped) return [];
  const macro = frames.find(({ frame }) => frameKey(frame) === stopped.key)?.macro ?? '';
  return [`${stopped.atS} s after power-up stop one frame: \`${names.stem}_switch(&schedule, ${macro}, 0)\`.`];
}

function valueLine({ value }: TrialToRun, { names, frames }: Schedule): string[] {
  if (!value) return [];
  const member = frames.find(({ frame }) => frameKey(frame) === value.frame)?.member ?? '';
  const set = `schedule.live.${member}`;
  return [
    `Right after \`${names.stem}_init\` set the signal ${markdownText(value.signal)} in \`${set}\` to ${value.value}.`,
  ];
}

/** The person's part, numbered. Words of the map are escaped. */
function stepsText(trial: TrialToRun, schedule: Schedule | null): string[] {
  const sends = trial.sent.length > 0;
  const steps = [
    `Cut all supply of the part and send nothing, for at least ${trial.sleepS} s: a full sleep.`,
    'Start the recording, of what the part sends and of what is sent to it.',
    sends
      ? 'Switch the supply on and start the schedule with it, from its init: counters start anew.'
      : 'Switch the supply on. Send nothing.',
    ...(schedule ? [...valueLine(trial, schedule), ...stopLine(trial, schedule)] : []),
    `Touch nothing for ${trial.settleS} s. If something moves or clicks that should not: emergency stop, and write it down.`,
    'End the recording, then the sending, then the supply.',
    'Drop the recording in. It judges itself; say whether anything moved.',
  ];
  return steps.map((step, i) => `${i + 1}. ${step}`);
}

const timesLine = ({ plan }: BenchRecord): string =>
  plan
    ? `Periods, phases and the order after power-up are those found in ${markdownText(plan.captures.join(', '))}, in every trial alike.`
    : 'Periods are those of the map; phases and the order after power-up are not known.';

interface Instructed {
  readonly map: SignalMap;
  readonly record: BenchRecord;
  readonly trial: TrialToRun;
  readonly cautions: readonly string[];
  readonly schedule: Schedule | null;
}

function instructions({ map, record, trial, cautions, schedule }: Instructed): string {
  const names = new Map(record.candidates.map(({ key, name }) => [key, name]));
  const sent = trial.sent.map((key) => `${names.get(key) ?? ''} (${key})`);
  return [
    `# Trial ${trial.number}: ${markdownText(map.part.title) || 'donor part'}`,
    AIMS[trial.aim],
    '',
    '## Cautions',
    ...list(cautions),
    '',
    '## What to do',
    ...stepsText(trial, schedule),
    '',
    `## Sent: ${trial.sent.length} of ${record.candidates.length} frames`,
    ...(sent.length > 0 ? [...list(sent), '', timesLine(record)] : ['Nothing.']),
    '',
  ].join('\n');
}

/** A trial before anything is written: what is to be read, and the phrase that confirms it. */
export interface TrialExport {
  readonly trial: TrialToRun;
  /** Null where the trial sends nothing. */
  readonly schedule: { readonly asked: ScheduleAsked; readonly made: ScheduleExport } | null;
  readonly cautions: readonly string[];
  /** To be typed; empty where nothing is sent, and nothing needs to be typed. */
  readonly phrase: string;
}

/** As the encoder has signals released: "frame.signal". */
function signalName(map: SignalMap, { frame, signal }: NonNullable<TrialToRun['value']>): string {
  return `${map.frames.find((each) => frameKey(each) === frame)?.name ?? ''}.${signal}`;
}

/** Bad where a frame of the trial may not be sent any more: the map or the releases have changed since. */
export function exportTrial(
  map: SignalMap,
  plan: KeepAlivePlan,
  record: BenchRecord,
  trial: TrialToRun,
): Outcome<TrialExport> {
  if (trial.sent.length === 0)
    return good({ trial, schedule: null, cautions: cautionsFor(map, record.released), phrase: '' });
  const wanted = new Set(trial.sent);
  const planned = withFacts(plan, record.plan).frames.filter(({ frame }) => wanted.has(frameKey(frame)));
  const varied = trial.value ? { name: signalName(map, trial.value), value: trial.value.value } : null;
  const code = varied ? { release: [varied.name] } : {};
  const asked: ScheduleAsked = { map, planned, release: record.released, span: null, unwatched: [], varied, code };
  const made = exportSchedule(asked);
  if (!made.ok) return made;
  const going = new Set(made.value.schedule.frames.map(({ frame }) => frameKey(frame)));
  const missing = trial.sent.filter((key) => !going.has(key));
  if (missing.length > 0) {
    const why = made.value.leftOut.map((each) => `${each.name}: ${each.why}`).join('; ');
    return bad({
      code: 'trial-not-sendable',
      message: `trial ${trial.number} sends ${missing.join(', ')}, which may not be sent${why ? ` (${why})` : ''}.`,
      advice: 'Use the map that the record was begun with, or begin a new record.',
    });
  }
  const { cautions, phrase } = made.value;
  return good({ trial, schedule: { asked, made: made.value }, cautions, phrase });
}

/** Null unless what was typed is the phrase. */
export function trialFiles(
  map: SignalMap,
  record: BenchRecord,
  { trial, schedule, cautions }: TrialExport,
  typed: string,
): readonly TrialFile[] | null {
  const code = schedule ? scheduleFiles(schedule.asked, schedule.made, typed) : [];
  if (code === null) return null;
  const words = instructions({ map, record, trial, cautions, schedule: schedule?.made.schedule ?? null });
  return [{ name: `trial-${trial.number}.md`, text: words }, ...code];
}
