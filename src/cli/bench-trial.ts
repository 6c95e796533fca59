/** The verb `bench` where it runs a trial: which one is meant, its files, its recording. */
import { join } from 'node:path';
import { benchState, type BenchState } from '../handover/bench/next-step.ts';
import { silentObservation } from '../handover/bench/observe.ts';
import { stopTrial, varyTrial } from '../handover/bench/own-trials.ts';
import { withTrial } from '../handover/bench/record.ts';
import type { BenchRecord } from '../handover/bench/record-schema.ts';
import { observedTrial, ranTrial } from '../handover/bench/run-trial.ts';
import { exportTrial, trialFiles, type TrialToRun } from '../handover/bench/trial-files.ts';
import type { KeepAlivePlan } from '../handover/needs/types.ts';
import { frameKey } from '../map/identifiers.ts';
import type { SignalMap } from '../map/schema.ts';
import { CannotDo, wholeOf, WrongUsage, type ParsedWords } from './arguments.ts';
import { movedOf, seenOf } from './bench-arguments.ts';
import { stepText } from './bench-text.ts';
import { captureFiles, readOptions, titleOf } from './capture-arguments.ts';
import { cautionLines, toConfirm } from './caution-text.ts';
import { writeWhole } from './files.ts';
import { runTask } from './run-task.ts';
import { valueOf } from './tasks/context.ts';
import type { Terminal } from './terminal.ts';

export interface Bench {
  readonly parsed: ParsedWords;
  readonly terminal: Terminal;
  readonly map: SignalMap;
  readonly plan: KeepAlivePlan;
  readonly record: BenchRecord;
}

const FRAME_SIGNAL = /^(.+)\.([^.=]+)(?:=(-?\d+(?:\.\d+)?))?$/;

function keyNamed({ map }: Bench, name: string): string {
  const frame = map.frames.find((each) => each.name === name || frameKey(each) === name);
  if (!frame) throw new CannotDo(`The map has no frame "${name}". Write its name, or its bus and identifier.`);
  return frameKey(frame);
}

function signalNamed(bench: Bench, text: string, option: string): { frame: string; signal: string; value: number } {
  const [, frame = '', signal = '', value] = FRAME_SIGNAL.exec(text) ?? [];
  if (!signal)
    throw new WrongUsage(`--${option} takes FRAME.SIGNAL${option === 'vary' ? '=VALUE' : ''}, not "${text}".`);
  return { frame: keyNamed(bench, frame), signal, value: Number(value ?? Number.NaN) };
}

/** The trial that is meant: one of the person's own, or the next of the search. */
function trialMeant(bench: Bench, state: BenchState): TrialToRun {
  const { parsed, terminal, map, record } = bench;
  const [stop, vary] = [parsed.one('stop'), parsed.one('vary')];
  if (stop !== undefined) return valueOf(stopTrial(record, state, keyNamed(bench, stop)), terminal);
  if (vary !== undefined) {
    const value = signalNamed(bench, vary, 'vary');
    if (Number.isNaN(value.value)) throw new WrongUsage(`--vary takes FRAME.SIGNAL=VALUE, not "${vary}".`);
    return valueOf(varyTrial(map, record, state, value), terminal);
  }
  const { step } = state;
  if (step.kind === 'trial' || step.kind === 'cannot-tell') return step.trial;
  throw new CannotDo(`There is no trial to run. ${stepText(step)}`);
}

/** The number of the part that should follow a varied signal. */
function followsOf(bench: Bench): { frame: string; signal: string } | null {
  const follows = bench.parsed.one('follows');
  return follows === undefined ? null : signalNamed(bench, follows, 'follows');
}

/** The record with the trial that was run. */
export async function withRecording(bench: Bench): Promise<BenchRecord> {
  const { parsed, terminal, map, plan, record } = bench;
  const given = parsed.one('trial');
  if (given === undefined) {
    if (parsed.words.length > 0) throw new WrongUsage('Say which trial the recording is of: --trial N CAPTURE.');
    return record;
  }
  const [seen, moved] = [seenOf(parsed.one('seen')), movedOf(parsed.one('moved'))];
  const trial = trialMeant(bench, benchState(map, record));
  if (wholeOf(given, 'trial') !== trial.number)
    throw new CannotDo(`The next trial is ${trial.number}; trial ${given} is not what is to be run now.`);
  const isSilent = parsed.has('silent');
  if (isSilent === parsed.words.length > 0)
    throw new WrongUsage('Name the recording of the trial, or say --silent where nothing at all was heard.');
  if (isSilent && trial.sent.length > 0) throw new WrongUsage('--silent is for a trial that sends nothing.');
  const files = captureFiles(parsed.words);
  const asked = {
    files,
    read: readOptions(parsed),
    map,
    trial: observedTrial({ trial, record, plan }, followsOf(bench)),
  };
  const answer = isSilent ? null : await runTask('bench', asked, terminal);
  const told = {
    at: new Date().toISOString(),
    capture: answer && { title: titleOf(files), files: [...answer.files] },
    observed: answer?.observed ?? silentObservation(trial.settleS),
    seen,
    moved,
  };
  return withTrial(record, ranTrial(trial, told));
}

/** Files of the trial, once the phrase was typed. */
export async function writeNext(bench: Bench, state: BenchState): Promise<string[]> {
  const { parsed, terminal, map, plan, record } = bench;
  const folder = parsed.one('output');
  if (folder === undefined) throw new WrongUsage('--next writes files: say where with -o DIR.');
  const trial = trialMeant(bench, state);
  const made = valueOf(exportTrial(map, plan, record, trial), terminal);
  for (const line of cautionLines(made.cautions)) terminal.say(line);
  const files = trialFiles(map, record, made, parsed.one('confirm') ?? '');
  if (!files) throw new CannotDo(toConfirm(made.phrase));
  for (const file of files) await writeWhole(join(folder, file.name), file.text);
  return files.map(({ name }) => join(folder, name));
}
