/** `compare`: what differs between two captures. */
import type { Comparison } from '../../proof/compare.ts';
import { WrongUsage } from '../arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { CAPTURE_OPTIONS, captureFile, JSON_OPTION, readOptions } from '../capture-arguments.ts';
import { runTask } from '../run-task.ts';
import { figure } from '../text-table.ts';
import type { Verb } from '../verb.ts';

const keyText = ({ bus, id }: { readonly bus: string; readonly id: string }): string => `${bus} ${id}`;

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
  return [
    section('only in the first', comparison.onlyInA.map(keyText)),
    section('only in the second', comparison.onlyInB.map(keyText)),
    section('period changed', timing),
    section('payload changed', payload),
  ].join('\n\n');
}

export const compare: Verb = {
  name: 'compare',
  summary: 'what differs between two captures: a module unplugged, key off and on',
  usage: 'A... -- B... [--bus-map A=B] [--json]',
  about:
    'Two captures, parted by --. Says which identifiers are only in one, whose period changed, which payload bytes became constant, filled with no data, or froze. Buses are matched by the identifiers they share, so swapped adapter leads do no harm.\nA first version: order of appearance after wake-up is not compared yet.',
  options: [busMapOption("the first capture's bus A is the second's bus B"), ...CAPTURE_OPTIONS, JSON_OPTION],
  example: 'loomscribe compare drive-1.log -- inverter-unplugged.csv',
  async run(parsed, terminal) {
    const second = (parsed.afterDashes ?? []).filter((word) => word !== '--json');
    const json = parsed.has('json') || second.length !== (parsed.afterDashes ?? []).length;
    if (parsed.words.length === 0 || second.length === 0) {
      throw new WrongUsage('Name two captures, parted by --: loomscribe compare A... -- B...');
    }
    const read = readOptions(parsed);
    const capture = (words: readonly string[]) => ({ files: words.map(captureFile), read });
    const request = { a: capture(parsed.words), b: capture(second), busMap: givenBusMap(parsed) };
    const comparison = await runTask('compare', request, terminal);
    terminal.print(json ? JSON.stringify(comparison, null, 2) : comparisonText(comparison));
  },
};
