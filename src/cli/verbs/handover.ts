/** `handover`: what a controller project receives, as files. */
import { join } from 'node:path';
import { handoverFiles } from '../../handover/handover-files.ts';
import { parseMap } from '../../map/parse.ts';
import { JSON_OPTION } from '../capture-arguments.ts';
import { writeWhole } from '../files.ts';
import { parseFile } from '../tasks/context.ts';
import { grouped, textTable } from '../text-table.ts';
import type { Verb } from '../verb.ts';

export const handover: Verb = {
  name: 'handover',
  summary: 'the map, C decoder and encoder, keep-alive plan and report, as files',
  usage: '--map MAP -o DIR [--release FRAME.SIGNAL] [--json]',
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
    { name: 'prefix', value: 'NAME', help: 'before every C name (default sm)' },
    JSON_OPTION,
  ],
  example: 'loomscribe handover --map map.json -o handover',
  async run(parsed, terminal) {
    const folder = parsed.one('output') as string;
    const map = await parseFile(parsed.one('map') as string, parseMap, terminal);
    const prefix = parsed.one('prefix');
    const made = handoverFiles(map, { release: parsed.many('release'), ...(prefix ? { prefix } : {}) });
    for (const file of made.files) await writeWhole(join(folder, file.name), file.bytes);
    for (const caution of made.cautions) terminal.say(`caution: ${caution}`);
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
