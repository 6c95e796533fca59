/** What a verb of the command line is, and how its help reads. */
import type { OptionSpec, ParsedWords } from './arguments.ts';
import type { Terminal } from './terminal.ts';

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

function wrap(text: string, width: number, indent: string): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    if (line && line.length + 1 + word.length > width) {
      lines.push(line);
      line = word;
    } else line = line ? `${line} ${word}` : word;
  }
  return [...lines, line].join(`\n${indent}`);
}

export function helpFor(verb: Verb): string {
  const options = [...verb.options, HELP_OPTION].map(optionLine);
  const width = Math.max(...options.map(([left]) => left.length)) + 2;
  return [
    `loomscribe ${verb.name} ${verb.usage}`,
    '',
    ...verb.about.split('\n').map((paragraph) => wrap(paragraph, 96, '')),
    '',
    'Options',
    ...options.map(([left, right]) => left.padEnd(width) + wrap(right, Math.max(40, 96 - width), ' '.repeat(width))),
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
