/** `demo`: writes the simulated vehicle's captures, marks, references and true map. */
import { join } from 'node:path';
import { prepareOutput, writeWhole } from '../files.ts';
import { JSON_OPTION } from '../capture-arguments.ts';
import { wholeOf } from '../arguments.ts';
import { runTask } from '../run-task.ts';
import { grouped, textTable } from '../text-table.ts';
import type { Verb } from '../verb.ts';

export const demo: Verb = {
  name: 'demo',
  summary: 'writes the demo: captures of a simulated post van, marks, references, true map',
  usage: '-o DIR [--seed N] [--json]',
  about:
    'Writes two drives, one recording with the inverter unplugged, the marks and readings that an operator made, and the true map. Make, people and layouts are invented; another seed makes quite another vehicle.',
  options: [
    { name: 'output', short: 'o', value: 'DIR', required: true, help: 'folder to write into; made if it is not there' },
    { name: 'seed', value: 'N', help: 'another vehicle: any whole number from 0 on' },
    JSON_OPTION,
  ],
  example: 'loomscribe demo -o demo',
  async run(parsed, terminal) {
    const folder = parsed.one('output') as string;
    prepareOutput(join(folder, 'README.txt'));
    const seed = parsed.one('seed');
    const files = await runTask('demo', seed === undefined ? {} : { seed: wholeOf(seed, 'seed') }, terminal);
    for (const file of files) await writeWhole(join(folder, file.name), file.bytes);
    const written = files.map(({ name, bytes, what }) => ({ name: join(folder, name), bytes: bytes.length, what }));
    if (parsed.has('json')) {
      terminal.print(JSON.stringify({ files: written }, null, 2));
      return;
    }
    const rows = written.map((file) => [file.name, grouped(file.bytes), file.what]);
    terminal.print(textTable([{ head: 'file' }, { head: 'bytes', right: true }, { head: 'what' }], rows));
  },
};
