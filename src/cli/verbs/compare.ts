/** `compare`: what differs between two captures. */
import type { ComparedFrame, Comparison } from '../../proof/compare/types.ts';
import { WrongUsage } from '../arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { CAPTURE_OPTIONS, captureFiles, JSON_OPTION, readOptions } from '../capture-arguments.ts';
import { runTask } from '../run-task.ts';
import { figure, grouped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

const keyText = ({ bus, id, extended }: ComparedFrame): string => `${bus} ${id}${extended ? ' (29-bit)' : ''}`;

/** Which bus was taken for which, where their names differ or one has no partner. */
function busesText({ buses }: Comparison): string {
  const pairs = Object.entries(buses).map(([a, b]) => (b === null ? `${a} has no partner` : `${a} is ${b}`));
  return `buses of the first in the second: ${pairs.join(', ') || 'none'}`;
}

function loneText({ count, expected, ...frame }: Comparison['onlyInA'][number]): string {
  const missing = expected === null ? '' : `, about ${grouped(Math.round(expected))} expected in the other`;
  return `${keyText(frame)}  ${grouped(count)} ${count === 1 ? 'frame' : 'frames'}${missing}`;
}

function section(title: string, lines: readonly string[]): string {
  return [`${title}: ${lines.length === 0 ? 'none' : lines.length}`, ...lines.map((line) => `  ${line}`)].join('\n');
}

function comparisonText(comparison: Comparison): string {
  const timing = comparison.timingChanged.map(
    (frame) => `${keyText(frame)}  ${figure(frame.periodMsA)} ms -> ${figure(frame.periodMsB)} ms`,
  );
  const payload = comparison.payloadChanged.map(
    (frame) => `${keyText(frame)}  bytes ${frame.bytes.join(', ')}: ${frame.how}`,
  );
  const errors = comparison.errors.map(
    ({ bus, perSecondA, perSecondB }) => `${bus}  ${figure(perSecondA)} a second -> ${figure(perSecondB)} a second`,
  );
  return [
    busesText(comparison),
    section('only in the first', comparison.onlyInA.map(loneText)),
    section('only in the second', comparison.onlyInB.map(loneText)),
    section('period changed', timing),
    section('payload changed', payload),
    ...(errors.length > 0 ? [section('error frames', errors)] : []),
  ].join('\n\n');
}

export const compare: Verb = {
  name: 'compare',
  summary: 'what differs between two captures: a module unplugged, key off and on',
  usage: 'A... -- B... [--bus-map A=B] [--json]',
  about:
    'Two captures, parted by --. Says which identifiers are only in one, whose period changed, which payload bytes became constant, filled with no data, or froze. Buses are matched by the identifiers they share, so swapped adapter leads do no harm.\nA first version: order of appearance after wake-up is not compared yet.',
  parted: true,
  options: [busMapOption("the first capture's bus A is the second's bus B"), ...CAPTURE_OPTIONS, JSON_OPTION],
  example: 'loomscribe compare drive-1.log -- inverter-unplugged.csv',
  async run(parsed, terminal) {
    if (parsed.words.length === 0 || parsed.second.length === 0) {
      throw new WrongUsage('Name two captures, parted by --: loomscribe compare A... -- B...');
    }
    const read = readOptions(parsed);
    const first = captureFiles(parsed.words);
    const second = captureFiles(parsed.second, first);
    const request = { a: { files: first, read }, b: { files: second, read }, busMap: givenBusMap(parsed) };
    const comparison = await runTask('compare', request, terminal);
    terminal.print(parsed.has('json') ? JSON.stringify(comparison, null, 2) : comparisonText(comparison));
  },
};
