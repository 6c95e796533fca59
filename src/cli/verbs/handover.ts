/** `handover`: what a controller project receives, as files. */
import { join } from 'node:path';
import { answeringTo } from '../../handover/encode-choice.ts';
import { handoverFiles, type HandoverOptions } from '../../handover/handover-files.ts';
import { keepAliveJson } from '../../handover/keep-alive.ts';
import type { KeepAlivePlan } from '../../handover/needs/types.ts';
import { frameKey } from '../../map/identifiers.ts';
import type { RangeChoice } from '../../map/limits.ts';
import { parseMap } from '../../map/parse.ts';
import type { SignalMap } from '../../map/schema.ts';
import { CannotDo, WrongUsage, type ParsedWords } from '../arguments.ts';
import { cannotLines } from '../cannot-text.ts';
import { CAPTURE_OPTIONS, JSON_OPTION } from '../capture-arguments.ts';
import { cautionLines } from '../caution-text.ts';
import { CODE_OPTIONS, codeChoices } from '../code-choices.ts';
import { writeWhole } from '../files.ts';
import { NEEDS_OPTIONS, needsAsked, withPart } from '../handover-inputs.ts';
import { runTask } from '../run-task.ts';
import { parseFile } from '../tasks/context.ts';
import type { Terminal } from '../terminal.ts';
import { grouped, textTable } from '../text-table.ts';
import type { Verb } from '../verb.ts';
import { MARK_OPTIONS } from './link.ts';

function rangeOf(text: string | undefined): RangeChoice {
  if (text === undefined || text === 'observed' || text === 'allowed') return text ?? 'observed';
  throw new WrongUsage(`--range takes observed or allowed, not "${text}".`);
}

/** A release that names nothing, or several, is a slip worth stopping at: the person believes that one signal can be sent. */
function checkReleases(names: readonly string[], map: SignalMap, path: string): void {
  for (const name of names) {
    const meant = answeringTo(map, name);
    if (meant.length === 0)
      throw new CannotDo(`${path} has no signal "${name}" to release. Write FRAME.SIGNAL as the map names them.`);
    if (meant.length > 1)
      throw new CannotDo(
        `${meant.length} signals of ${path} are called "${name}": ${meant.map(([frame]) => frameKey(frame)).join(', ')}. Give each frame, or signal, a name of its own in the map, then release the one you mean.`,
      );
  }
}

/** What captures add: the plan made with them, and traces for the report. Nothing without captures. */
async function fromCaptures(
  parsed: ParsedWords,
  map: SignalMap,
  terminal: Terminal,
): Promise<Pick<HandoverOptions, 'plan' | 'report'>> {
  const asked = await needsAsked(parsed, map, terminal);
  if (!asked) return {};
  const { plan, traces } = await runTask('needs', { ...asked, wantsTraces: true }, terminal);
  return { plan, ...(traces ? { report: { traces } } : {}) };
}

/** What a person should know of the plan before opening it. */
function planLines({ frames, captures, open }: KeepAlivePlan): string[] {
  const untested = frames.filter(({ need }) => need === 'untested').length;
  const from = captures.length > 0 ? `from ${captures.join(', ')}` : 'from the map alone';
  return [
    `keep-alive plan ${from}: ${frames.length} frames of others, ${untested} of them untested; ${open.length} open questions in keep-alive.md`,
  ];
}

export const handover: Verb = {
  name: 'handover',
  summary: 'the map, C decoder and encoder, keep-alive plan and report, as files',
  usage: '[CAPTURE...] --map MAP -o DIR [--part SENDER] [--absent NAME=FILE] [--release SIGNAL]',
  about:
    'Writes what a controller project receives. The encoder starts every frame from the payload recorded at rest, refuses values beyond what was observed, and leaves out signals that may move the machine unless you release them by name.\nThe keep-alive plan says which frames of others the part may need. Captures give it phases, the order after a waking and, with a module unplugged in one, who is missed: from sleep through key on, several times. What the part really needs only a bench trial shows.',
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map' },
    { name: 'output', short: 'o', value: 'DIR', required: true, help: 'folder to write into; made if it is not there' },
    {
      name: 'release',
      value: 'FRAME.SIGNAL',
      repeats: true,
      help: 'lets the encoder set a signal that may move the machine; you have read the cautions',
    },
    {
      name: 'range',
      value: 'WHICH',
      help: "what the encoder keeps to: observed (default), or allowed for the map's `allowed` where a person wrote it",
    },
    { name: 'prefix', value: 'NAME', help: 'before every C name (default sm)' },
    ...CODE_OPTIONS,
    ...NEEDS_OPTIONS,
    ...MARK_OPTIONS,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe handover drive-1.log --map map.json --part B -o handover',
  async run(parsed, terminal) {
    const folder = parsed.one('output') as string;
    const path = parsed.one('map') as string;
    const ranges = rangeOf(parsed.one('range'));
    const map = withPart(await parseFile(path, parseMap, terminal), parsed);
    const choices = codeChoices(parsed);
    const [prefix, release] = [parsed.one('prefix'), parsed.many('release')];
    checkReleases(release, map, path);
    const added = await fromCaptures(parsed, map, terminal);
    const made = handoverFiles(map, {
      release,
      ranges,
      ...choices,
      ...(prefix ? { prefix } : {}),
      ...added,
    });
    for (const file of made.files) await writeWhole(join(folder, file.name), file.bytes);
    for (const line of cannotLines(made.plan.cannotBeProduced)) terminal.say(line);
    for (const line of cautionLines(made.cautions)) terminal.say(line);
    const files = made.files.map(({ name, bytes, mime }) => ({ name: join(folder, name), bytes: bytes.length, mime }));
    if (parsed.has('json')) {
      const { leftOut, cautions } = made;
      terminal.print(JSON.stringify({ files, leftOut, cautions, plan: keepAliveJson(made.plan) }, null, 2));
      return;
    }
    const rows = files.map((file) => [file.name, grouped(file.bytes)]);
    terminal.print(textTable([{ head: 'file' }, { head: 'bytes', right: true }], rows));
    terminal.print(['', ...planLines(made.plan)].join('\n'));
    if (made.leftOut.length > 0) {
      terminal.print(`\n${made.leftOut.length} left out of the encoder; the report says why`);
    }
  },
};
