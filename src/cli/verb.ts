/** What a verb of the command line is, and how its help reads. */
import type { OptionSpec, ParsedWords } from './arguments.ts';
import type { Terminal } from './terminal.ts';
import { wrapped } from './text-table.ts';

export interface Verb {
  readonly name: string;
  /** One line for the list of verbs. */
  readonly summary: string;
  /** After the verb's name: "CAPTURE... [--marks FILE]". */
  readonly usage: string;
  /** A paragraph or two; says what is a first version. */
  readonly about: string;
  readonly options: readonly OptionSpec[];
  /** `--` parts the words of two captures. */
  readonly parted?: boolean;
  readonly example: string;
  run(parsed: ParsedWords, terminal: Terminal): Promise<void>;
}

export const HELP_OPTION: OptionSpec = { name: 'help', short: 'h', help: 'show this' };

function optionLine(option: OptionSpec): [string, string] {
  const short = option.short ? `-${option.short}, ` : '    ';
  return [`  ${short}--${option.name}${option.value ? ` ${option.value}` : ''}`, option.help];
}

/** The option, and beside it what it does, in lines of its own column. */
function optionText(left: string, right: string, width: number): string {
  return left.padEnd(width) + wrapped(right, 98 - width).replaceAll('\n', `\n${' '.repeat(width)}`);
}

export function helpFor(verb: Verb): string {
  const options = [...verb.options, HELP_OPTION].map(optionLine);
  const width = Math.max(...options.map(([left]) => left.length)) + 2;
  return [
    `loomscribe ${verb.name} ${verb.usage}`,
    '',
    ...verb.about.split('\n').map((paragraph) => wrapped(paragraph, 96)),
    '',
    'Options',
    ...options.map(([left, right]) => optionText(left, right, width)),
    '',
    'Example',
    `  ${verb.example}`,
  ].join('\n');
}

export function helpForAll(verbs: readonly Verb[], version: string): string {
  const width = Math.max(...verbs.map((verb) => verb.name.length)) + 2;
  return [
    `loomscribe ${version}: from raw captures of a donor vehicle to a signal map that a controller can compile`,
    '',
    'Usage: loomscribe VERB ...',
    '',
    ...verbs.map((verb) => `  ${verb.name.padEnd(width)}${verb.summary}`),
    '',
    'loomscribe VERB --help shows options and an example.',
    'A CAPTURE is one or more files of one recording, plain or gzip-compressed; BUS=FILE where a file names no bus; - is',
    'standard input. Exit: 0 done, 1 it could not do what was asked, 2 wrong usage.',
    '',
    'Recording from and sending to a vehicle can hurt: high voltage stays in a wrecked pack, and a frame that is sent can',
    'move a machine or close a contactor. Local codes and licensed practice come first.',
  ].join('\n');
}
