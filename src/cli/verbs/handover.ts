/** `handover`: what a controller project receives, as files. */
import { join } from 'node:path';
import { handoverFiles } from '../../handover/handover-files.ts';
import type { RangeChoice } from '../../map/limits.ts';
import { parseMap } from '../../map/parse.ts';
import type { SignalMap } from '../../map/schema.ts';
import { CannotDo, WrongUsage } from '../arguments.ts';
import { JSON_OPTION } from '../capture-arguments.ts';
import { writeWhole } from '../files.ts';
import { parseFile } from '../tasks/context.ts';
import { grouped, textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

function rangeOf(text: string | undefined): RangeChoice {
  if (text === undefined || text === 'observed' || text === 'allowed') return text ?? 'observed';
  throw new WrongUsage(`--range takes observed or allowed, not "${text}".`);
}

/** A release that names nothing is a slip worth stopping at: the person believes that a signal can be sent. */
function checkReleases(names: readonly string[], map: SignalMap, path: string): void {
  const known = new Set(map.frames.flatMap((frame) => frame.signals.map((signal) => `${frame.name}.${signal.name}`)));
  const unknown = names.find((name) => !known.has(name));
  if (unknown)
    throw new CannotDo(`${path} has no signal "${unknown}" to release. Write FRAME.SIGNAL as the map names them.`);
}

export const handover: Verb = {
  name: 'handover',
  summary: 'the map, C decoder and encoder, keep-alive plan and report, as files',
  usage: '--map MAP -o DIR [--release FRAME.SIGNAL] [--range observed|allowed] [--json]',
  about:
    'Writes what a controller project receives. The encoder starts every frame from the payload recorded at rest, refuses values beyond what was observed, and leaves out signals that may move the machine unless you release them by name.\nA first version: decoder, encoder and guards are complete; the keep-alive plan is what the captures suggest, untested on any bench.',
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
    JSON_OPTION,
  ],
  example: 'loomscribe handover --map map.json -o handover',
  async run(parsed, terminal) {
    const folder = parsed.one('output') as string;
    const path = parsed.one('map') as string;
    const ranges = rangeOf(parsed.one('range'));
    const map = await parseFile(path, parseMap, terminal);
    const [prefix, release] = [parsed.one('prefix'), parsed.many('release')];
    checkReleases(release, map, path);
    const made = handoverFiles(map, { release, ranges, ...(prefix ? { prefix } : {}) });
    for (const file of made.files) await writeWhole(join(folder, file.name), file.bytes);
    for (const caution of made.cautions) terminal.say(wrapped(`caution: ${caution}`, 100, '  '));
    const files = made.files.map(({ name, bytes, mime }) => ({ name: join(folder, name), bytes: bytes.length, mime }));
    if (parsed.has('json')) {
      terminal.print(JSON.stringify({ files, leftOut: made.leftOut, cautions: made.cautions }, null, 2));
      return;
    }
    const rows = files.map((file) => [file.name, grouped(file.bytes)]);
    terminal.print(textTable([{ head: 'file' }, { head: 'bytes', right: true }], rows));
    if (made.leftOut.length > 0) {
      terminal.print(`\n${made.leftOut.length} left out of the encoder; the report says why`);
    }
  },
};
