/** `compare`: what differs between two captures, or two spans of one. */
import { WrongUsage, type ParsedWords } from '../arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { CAPTURE_OPTIONS, captureFiles, JSON_OPTION, readOptions } from '../capture-arguments.ts';
import { runTask } from '../run-task.ts';
import type { Verb } from '../verb.ts';
import { comparisonText } from './compare-text.ts';

interface GivenSpan {
  readonly fromS: number;
  readonly toS: number;
}

/** "12.5:60": seconds from the capture's origin; either end may be left out. */
function givenSpan(parsed: ParsedWords, name: string): GivenSpan | undefined {
  const text = parsed.one(name);
  if (text === undefined) return undefined;
  const match = /^(\d+(?:\.\d+)?)?:(\d+(?:\.\d+)?)?$/.exec(text);
  const [fromS, toS] = [Number(match?.[1] ?? 0), match?.[2] === undefined ? Infinity : Number(match[2])];
  if (!match || text === ':' || fromS >= toS) {
    throw new WrongUsage(`--${name} takes seconds from the capture's start, such as 10:60, 10: or :60, not "${text}".`);
  }
  return { fromS, toS };
}

export const compare: Verb = {
  name: 'compare',
  summary: 'what differs between two captures: a module unplugged, key off and on',
  usage: 'A... -- B... [--span-a FROM:TO] [--span-b FROM:TO] [--bus-map A=B] [--json]',
  about:
    'Two captures, parted by --. Says which identifiers fall silent together and are sent by a missing module, which others react to that (slower, no data, a flag), which are only in one, what comes in another order after a waking, and whether error frames appeared. What is only rare or of another mode is listed as open. Buses are matched by the identifiers they share, so swapped adapter leads do no harm. Name one capture on both sides, with a span for each, to compare two parts of it.',
  parted: true,
  options: [
    {
      name: 'span-a',
      value: 'FROM:TO',
      help: 'only these seconds of the first capture, 10:60; 10: or :60 leave one end open',
    },
    { name: 'span-b', value: 'FROM:TO', help: 'the same of the second' },
    busMapOption("the first capture's bus A is the second's bus B"),
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe compare drive-1.log -- inverter-unplugged.csv',
  async run(parsed, terminal) {
    if (parsed.words.length === 0 || parsed.second.length === 0) {
      throw new WrongUsage('Name two captures, parted by --: loomscribe compare A... -- B...');
    }
    const read = readOptions(parsed);
    const first = captureFiles(parsed.words);
    const second = captureFiles(parsed.second, first);
    const [spanA, spanB] = [givenSpan(parsed, 'span-a'), givenSpan(parsed, 'span-b')];
    const request = {
      a: { files: first, read, ...(spanA ? { span: spanA } : {}) },
      b: { files: second, read, ...(spanB ? { span: spanB } : {}) },
      busMap: givenBusMap(parsed),
    };
    const comparison = await runTask('compare', request, terminal);
    terminal.print(parsed.has('json') ? JSON.stringify(comparison, null, 2) : comparisonText(comparison));
  },
};
