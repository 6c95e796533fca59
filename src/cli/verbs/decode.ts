/** `decode`: physical values over time, as a file. */
import { extname } from 'node:path';
import { WrongUsage } from '../arguments.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { prepareOutput } from '../files.ts';
import { inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import { grouped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

const FORMATS = { '.csv': 'csv', '.jsonl': 'jsonl', '.parquet': 'parquet' } as const;

function formatOf(path: string): 'csv' | 'jsonl' | 'parquet' {
  const ending = extname(path).toLowerCase();
  if (ending in FORMATS) return FORMATS[ending as keyof typeof FORMATS];
  throw new WrongUsage(`-o ${path}: the ending says the format, so it must be .csv, .jsonl or .parquet.`);
}

export const decode: Verb = {
  name: 'decode',
  summary: 'physical values over time by a map, as .csv, .jsonl or .parquet',
  usage: 'CAPTURE... --map MAP -o OUT [--wide] [--json]',
  about:
    'Decodes every frame that the map describes. Long form: a row a value; with --wide a row a frame and a column a signal. Parquet columns carry their units as metadata.',
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map' },
    { name: 'output', short: 'o', value: 'OUT', required: true, help: 'file to write: .csv, .jsonl or .parquet' },
    { name: 'wide', help: 'a row a frame, a column a signal' },
    busMapOption("map bus MAPBUS is the capture's bus BUS"),
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe decode drive-2.pcapng --map map.json -o drive-2.parquet',
  async run(parsed, terminal) {
    const { capture } = await inputsFrom(parsed, terminal);
    const output = parsed.one('output') as string;
    const decode = {
      format: formatOf(output),
      form: parsed.has('wide') ? ('wide' as const) : ('long' as const),
      busMap: givenBusMap(parsed),
    };
    prepareOutput(output);
    const summary = await runTask('decode', { ...capture, map: parsed.one('map') as string, output, decode }, terminal);
    terminal.print(
      parsed.has('json')
        ? JSON.stringify(summary, null, 2)
        : `${grouped(summary.rows)} rows of ${grouped(summary.signals)} signals in ${output}`,
    );
  },
};
