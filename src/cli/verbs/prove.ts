/** `prove`: holds a map against a capture that it was not made from. */
import type { ProofFrame, ProofReport } from '../../proof/types.ts';
import { WrongUsage } from '../arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import { figure, grouped, textTable } from '../text-table.ts';
import type { Verb } from '../verb.ts';
import { MARK_OPTIONS } from './link.ts';
import { REFERENCE_OPTIONS } from './fit.ts';

const COLUMNS = [
  { head: 'bus' },
  { head: 'id' },
  { head: 'item' },
  { head: 'name' },
  { head: 'verdict' },
  { head: 'rate', right: true },
  { head: 'n', right: true },
  { head: 'detail' },
];

function rowsOf(frame: ProofFrame): string[][] {
  return frame.items.map((item) => [
    frame.bus,
    frame.id,
    item.item,
    item.name,
    item.verdict,
    figure(item.rate),
    grouped(item.n),
    item.detail,
  ]);
}

export function countLine(report: ProofReport): string {
  const items = report.frames.flatMap((frame) => frame.items);
  const count = (verdict: string): number => items.filter((item) => item.verdict === verdict).length;
  return `${count('holds')} items hold, ${count('fails')} fail, ${count('not-exercised')} were not exercised by this capture`;
}

export const prove: Verb = {
  name: 'prove',
  summary: 'holds a map against a capture it was not made from',
  usage: 'CAPTURE... --map MAP [--json]',
  about:
    'Checks presence, length, timing, counters, checksums, selectors and value ranges of a map on another recording: another power cycle, another day. What the capture cannot test is called not exercised, never held.\nA first version: marks and references are accepted, but only frames, guards and ranges are judged so far.',
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map to hold against the capture' },
    ...MARK_OPTIONS,
    ...REFERENCE_OPTIONS,
    busMapOption("map bus MAPBUS is the capture's bus BUS, where overlap of identifiers does not tell"),
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe prove drive-2.pcapng --map map.json',
  async run(parsed, terminal) {
    const inputs = await inputsFrom(parsed, terminal);
    const map = parsed.one('map');
    if (!map) throw new WrongUsage('--map MAP is needed.');
    if (inputs.marks || inputs.reference) {
      terminal.say('Marks and references are not judged by this version of prove: frames, guards and ranges are.');
    }
    const report = await runTask('prove', { ...inputs.capture, map, busMap: givenBusMap(parsed) }, terminal);
    if (parsed.has('json')) {
      terminal.print(JSON.stringify(report, null, 2));
      return;
    }
    terminal.print(`${countLine(report)}\n\n${textTable(COLUMNS, report.frames.flatMap(rowsOf))}`);
  },
};
