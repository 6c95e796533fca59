/** Asks for what can be sent, says what there is to see and to read, and writes it once it was confirmed. */
import { basename, join } from 'node:path';
import type { MarkFile } from '../actions/types.ts';
import { withMarkedRest } from '../handover/sending/marked-rest.ts';
import type { ExcerptAnswer, ExcerptAsked } from '../handover/sending/prepare.ts';
import { cautionText, exportSchedule, scheduleFiles } from '../handover/sending/schedule-export.ts';
import { describeProblem } from '../kit/outcome.ts';
import { printMap } from '../map/print.ts';
import type { SignalMap } from '../map/schema.ts';
import { CannotDo, type ParsedWords } from './arguments.ts';
import { givenBusMap } from './bus-map.ts';
import { titleOf } from './capture-arguments.ts';
import { cautionLines, toConfirm } from './caution-text.ts';
import { codeChoices } from './code-choices.ts';
import { excerptText, keptOutText, spanText } from './excerpt-text.ts';
import { writeWhole } from './files.ts';
import type { Inputs } from './inputs.ts';
import { runTask } from './run-task.ts';
import type { Terminal } from './terminal.ts';
import { grouped } from './text-table.ts';

const SEED = 1;

export interface ExcerptOutput {
  readonly kind: 'log' | 'pcapng' | 'schedule' | 'rest';
  readonly path: string;
}

export interface ExcerptSetting {
  readonly parsed: ParsedWords;
  readonly terminal: Terminal;
  readonly inputs: Inputs & { readonly marks: MarkFile };
  readonly map: SignalMap;
  readonly output: ExcerptOutput;
  readonly asked: Omit<ExcerptAsked, 'map' | 'marks'>;
}

/** Id of the capture where the map knows it, else what it is called. */
function captureId(map: SignalMap, inputs: Inputs): string {
  const names = inputs.capture.files.map(({ path }) => basename(path));
  const known = map.captures.find(({ files }) => files.some(({ name }) => names.includes(basename(name))));
  return known?.id ?? titleOf(inputs.capture.files);
}

async function ask({ inputs, map, asked, terminal }: ExcerptSetting): Promise<ExcerptAnswer> {
  const { capture, marks, marksOffset } = inputs;
  return runTask('excerpt', { ...capture, ...asked, map, marks, marksOffset, seed: SEED }, terminal);
}

/** Prints what there is to see, then says why nothing was written. @throws CannotDo */
function refuse({ parsed, terminal }: ExcerptSetting, shown: object, text: string, why: string): never {
  terminal.print(parsed.has('json') ? JSON.stringify(shown, null, 2) : text);
  throw new CannotDo(why);
}

/** For `--json`: all but the bytes. */
const shownOf = ({ written, ...answer }: ExcerptAnswer): object => ({
  ...answer,
  written: written && { frames: written.frames, unguarded: written.unguarded, bytes: written.bytes.length },
});

function refuseProblems(setting: ExcerptSetting, answer: ExcerptAnswer): void {
  if (answer.problems.length > 0)
    refuse(setting, shownOf(answer), excerptText(answer), answer.problems.map(describeProblem).join('\n'));
}

export async function writePart(setting: ExcerptSetting): Promise<void> {
  const { terminal, output, parsed } = setting;
  const answer = await ask(setting);
  refuseProblems(setting, answer);
  for (const line of cautionLines(answer.cautions)) terminal.say(line);
  const { written } = answer;
  if (!written) return refuse(setting, shownOf(answer), excerptText(answer), toConfirm(answer.phrase));
  await writeWhole(output.path, written.bytes);
  // Lines have no room for comments.
  const beside = output.kind === 'log' ? `${output.path}.txt` : null;
  if (beside) await writeWhole(beside, cautionText(answer.cautions));
  const files = [output.path, ...(beside ? [beside] : [])];
  if (parsed.has('json')) terminal.print(JSON.stringify({ ...shownOf(answer), files }, null, 2));
  else {
    const unguarded = written.unguarded > 0 ? `, ${grouped(written.unguarded)} left out that no rule fits` : '';
    terminal.print(`${excerptText(answer)}\n\n${grouped(written.frames)} frames in ${files.join(', ')}${unguarded}`);
  }
}

async function restOf(setting: ExcerptSetting): Promise<{ readonly answer: ExcerptAnswer; readonly map: SignalMap }> {
  const answer = await ask(setting);
  refuseProblems(setting, answer);
  const { map, inputs } = setting;
  return { answer, map: withMarkedRest(map, answer.rest, captureId(map, inputs), answer.span?.mark ?? '') };
}

export async function writeRest(setting: ExcerptSetting): Promise<void> {
  const { terminal, output, parsed } = setting;
  const { answer, map } = await restOf(setting);
  await writeWhole(output.path, printMap(map));
  if (parsed.has('json')) terminal.print(JSON.stringify({ ...shownOf(answer), files: [output.path] }, null, 2));
  else
    terminal.print(
      `${spanText(answer)}\n\n${output.path}: the map, with the last payload in that span of each of ${answer.rest.length} frames`,
    );
}

export async function writeSchedule(setting: ExcerptSetting): Promise<void> {
  const { parsed, terminal, inputs, output, asked } = setting;
  const { answer, map } = await restOf(setting);
  const { capture, marks, marksOffset } = inputs;
  const whole = [{ ...capture, title: titleOf(capture.files) }];
  const busMap = givenBusMap(parsed);
  const { plan } = await runTask('needs', { map, whole, marks, marksOffset, seed: SEED, absent: [], busMap }, terminal);
  const prefix = parsed.one('prefix');
  const wanted = {
    map,
    planned: plan.frames,
    release: asked.release,
    span: answer.span,
    unwatched: answer.check?.unwatched ?? [],
    code: { ...codeChoices(parsed), ...(prefix ? { prefix } : {}) },
  };
  const made = exportSchedule(wanted);
  if (!made.ok)
    return refuse(setting, shownOf(answer), spanText(answer), made.problems.map(describeProblem).join('\n'));
  const { schedule, cautions, phrase, leftOut } = made.value;
  const frames = schedule.frames.map(({ frame: { name, bus, id, extended }, kind, periodUs, firstUs, mayCommand }) => ({
    ...{ name, bus, id, extended, kind, periodMs: periodUs / 1000, mayCommand },
    firstMs: firstUs === null ? null : firstUs / 1000,
  }));
  const shown = { ...shownOf(answer), frames, keptOut: leftOut, cautions, phrase };
  const text = [
    spanText(answer),
    frames.length > 0 ? `goes out: ${frames.map(({ name }) => name).join(', ')}` : '',
    keptOutText(leftOut),
  ]
    .filter(Boolean)
    .join('\n\n');
  if (phrase === '') return refuse(setting, shown, text, 'No frame can be scheduled; the list says why of each.');
  for (const line of cautionLines(cautions)) terminal.say(line);
  const files = scheduleFiles(wanted, made.value, asked.confirm ?? '');
  if (!files) return refuse(setting, shown, text, toConfirm(phrase));
  for (const file of files) await writeWhole(join(output.path, file.name), file.text);
  const names = files.map(({ name }) => join(output.path, name));
  terminal.print(
    parsed.has('json') ? JSON.stringify({ ...shown, files: names }, null, 2) : `${text}\n\n${names.join('\n')}`,
  );
}
