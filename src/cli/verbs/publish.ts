/** `publish`: a copy of a capture, its map and report without the numbers of the vehicle and its modules. */
import { join } from 'node:path';
import type { ListedFind } from '../../handover/publish/list.ts';
import type { LogFormat } from '../../handover/publish/log.ts';
import { WrongUsage } from '../arguments.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { prepareOutput } from '../files.ts';
import { inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import { grouped, textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

function formatOf(text: string | undefined): LogFormat {
  if (text === undefined || text === 'log' || text === 'pcapng') return text ?? 'log';
  throw new WrongUsage(`--format takes log or pcapng, not "${text}".`);
}

function findsText(finds: readonly ListedFind[]): string {
  if (finds.length === 0) return 'no numbers found';
  return textTable(
    [{ head: 'find' }, { head: 'characters', right: true }, { head: 'confidence', right: true }, { head: 'where' }],
    finds.map(({ key, length, confidence, places }) => [
      key,
      String(length),
      confidence.toFixed(2),
      places.map(({ bus, id, where }) => `${bus} ${id} ${where}`).join('; ') || 'in texts alone',
    ]),
  );
}

const NOTHING_WRITTEN = wrapped(
  'Nothing was written. Without --find-only all of them are blanked; --keep FIND leaves one as it is, --number TEXT adds one of yours. What is listed is judged: numbers packed in other ways may be left.',
  100,
  '',
);

export const publish: Verb = {
  name: 'publish',
  summary: 'a copy for others: vehicle and serial numbers found and blanked in log, map and report',
  usage: 'CAPTURE... --map MAP -o DIR [--number TEXT] [--keep FIND] [--find-only] [--json]',
  about:
    'Finds vehicle identification numbers, serial and part numbers in payloads (text, packed decimals, over pages and identifiers, in diagnostic messages and their parts), in the map and in names of files; writes them over with X and 0 wherever they stand, in any packing; makes guards anew that the map knows; leaves out frames whose guard it cannot make; searches the copy again and writes nothing where something is still found. blanked.md lists what was blanked and why, without any number, and what cannot be found.\nName your own numbers with --number: they are looked for in every packing, whatever the evidence.',
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map' },
    { name: 'output', short: 'o', value: 'DIR', required: true, help: 'folder to write into; made if it is not there' },
    { name: 'number', value: 'TEXT', repeats: true, help: 'a number that is yours: vehicle, serial or part number' },
    { name: 'keep', value: 'FIND', repeats: true, help: 'leaves a find as it is, by its name in the list' },
    { name: 'also', value: 'FIND', repeats: true, help: 'blanks a find that is only offered, such as a position' },
    {
      name: 'beside',
      value: 'FILE',
      repeats: true,
      help: 'a text file to blank and copy too: marks, reference, notes',
    },
    { name: 'format', value: 'WHICH', help: 'log (default) or pcapng' },
    { name: 'without-times', help: 'times count from zero; days and times of day go from map and file names' },
    { name: 'find-only', help: 'says what would be blanked and writes nothing' },
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe publish drive.log --map map.json --number WX1234567 -o published',
  async run(parsed, terminal) {
    const folder = parsed.one('output') as string;
    const format = formatOf(parsed.one('format'));
    const { capture } = await inputsFrom(parsed, terminal);
    const dry = parsed.has('find-only');
    if (!dry) prepareOutput(join(folder, 'blanked.md'));
    const request = {
      ...capture,
      ...{ map: parsed.one('map') as string, folder, format, dry },
      ...{ typed: parsed.many('number'), keep: parsed.many('keep'), also: parsed.many('also') },
      ...{ beside: parsed.many('beside'), hidesTimes: parsed.has('without-times') },
    };
    const { finds, list, files } = await runTask('publish', request, terminal);
    if (parsed.has('json')) {
      terminal.print(JSON.stringify({ finds, list, files }, null, 2));
      return;
    }
    terminal.print(findsText(finds));
    if (!list) {
      terminal.print(`\n${NOTHING_WRITTEN}`);
      return;
    }
    const { framesWritten, framesChanged, framesLeftOut } = list;
    terminal.print(
      `\n${grouped(framesWritten)} frames written, ${grouped(framesChanged)} of them with bits blanked, ${grouped(framesLeftOut)} left out; files in ${folder}`,
    );
    terminal.print(wrapped('Read blanked.md before you publish: it says what cannot be found.', 100, ''));
  },
};
