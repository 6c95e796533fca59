/** `prove`: holds a map against a capture that it was not made from. */
import type { ProofFrame, ProofItem, ProofReport } from '../../proof/hold/types.ts';
import { WrongUsage } from '../arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION, titleOf } from '../capture-arguments.ts';
import { prepareOutput, writeWhole } from '../files.ts';
import { inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import type { ProveRequest } from '../tasks/prove.ts';
import { figure, grouped, textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';
import { MARK_OPTIONS } from './link.ts';
import { REFERENCE_OPTIONS } from './fit.ts';

const FRAME_COLUMNS = [
  { head: 'bus' },
  { head: 'id' },
  { head: 'frame' },
  { head: 'verdict' },
  { head: 'holds', right: true },
  { head: 'fails', right: true },
  { head: 'not exercised', right: true },
];

const keyText = ({ bus, id, name }: ProofFrame): string => `${bus} ${id} ${name}`;
const withVerdict = (items: readonly ProofItem[], verdict: ProofItem['verdict']): readonly ProofItem[] =>
  items.filter((item) => item.verdict === verdict);

function frameRow(frame: ProofFrame): string[] {
  const count = (verdict: ProofItem['verdict']): string => String(withVerdict(frame.items, verdict).length);
  return [
    frame.bus,
    frame.id,
    frame.name,
    frame.verdict.replace('-', ' '),
    count('holds'),
    count('fails'),
    count('not-exercised'),
  ];
}

function itemText({ item, name, verdict, rate, n, detail }: ProofItem): string {
  const share = rate === null ? '' : ` (${figure(100 * rate)} % of ${grouped(n)})`;
  const what = ['presence', 'length', 'timing'].includes(item) ? item : `${item} ${name}`;
  return `    ${wrapped(`${what} ${verdict.replace('-', ' ')}${share}: ${detail}`, 94, '      ')}`;
}

/** Frames with the items that are worth reading: what fails, or everything. */
function itemsText(frames: readonly ProofFrame[], all: boolean): string[] {
  const shown = frames
    .map((frame) => ({ frame, items: all ? frame.items : withVerdict(frame.items, 'fails') }))
    .filter(({ items }) => items.length > 0);
  return shown.flatMap(({ frame, items }) => [`  ${keyText(frame)}`, ...items.map(itemText)]);
}

function countLine(report: ProofReport): string {
  const items = report.frames.flatMap((frame) => frame.items);
  const count = (verdict: ProofItem['verdict']): string => grouped(withVerdict(items, verdict).length);
  return `${count('holds')} items hold, ${count('fails')} fail, ${count('not-exercised')} were not exercised by this capture`;
}

interface Told {
  readonly holds: number;
  readonly fails: number;
  readonly notExercised: number;
}
const toldText = ({ holds, fails, notExercised }: Told): string =>
  holds + fails + notExercised === 0
    ? 'no signal of the map is known to show it'
    : `${holds} signals hold, ${fails} fail, ${notExercised} not exercised`;

/** What references and marks said, a line each. */
function besideText({ references = [], answers = [] }: ProofReport): string[] {
  const clock = references[0] ? [`readings' clock: ${references[0].clockWords || 'as they are'}`] : [];
  return [
    ...clock,
    ...references.map((one) => `  ${one.name}${one.unit ? ` [${one.unit}]` : ''}: ${toldText(one)}`),
    ...answers.map((one) => `  "${one.action}", ${one.marks} marks: ${toldText(one)}`),
  ];
}

function proofText(report: ProofReport, all: boolean): string {
  const items = itemsText(report.frames, all);
  const beside = besideText(report);
  return [
    countLine(report),
    '',
    textTable(FRAME_COLUMNS, report.frames.map(frameRow)),
    ...(beside.length > 0 ? ['', ...beside] : []),
    ...(items.length > 0 ? ['', all ? 'every item:' : 'what fails (--all shows every item):', ...items] : []),
  ].join('\n');
}

export const prove: Verb = {
  name: 'prove',
  summary: 'holds a map against a capture it was not made from',
  usage: 'CAPTURE... --map MAP [--reference FILE] [--marks FILE] [-o MAP [--carry]] [--all] [--json]',
  about:
    'Checks presence, length, timing, counters, checksums, selectors and signals of a map on another recording: another power cycle, another day. What the capture cannot test is called not exercised, never held.\nA signal is refused where what its bits do from frame to frame suits another place, order or sign. What was measured beside the recording is held against the scales of the signals that were fitted to the same quantity, marks against what answered them before, physical laws against those that the map tells of.\nWith -o the map is written with what held as proven; a number with a unit only where a reference held its scale. What may be sent is never touched.',
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map to hold against the capture' },
    { name: 'output', short: 'o', value: 'MAP', help: 'writes the map with what this capture proved' },
    {
      name: 'carry',
      help: 'with -o, for another vehicle of the type: what holds there is marked, what fails is kept but refused',
    },
    { name: 'all', help: 'every item in words, those that hold too' },
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
    const map = parsed.one('map') as string;
    const output = parsed.one('output');
    if (parsed.has('carry') && output === undefined) throw new WrongUsage('--carry writes a map: say where with -o.');
    if (output !== undefined) prepareOutput(output);
    const wants: ProveRequest['wants'] = output === undefined ? null : parsed.has('carry') ? 'carried' : 'proven';
    const title = titleOf(inputs.capture.files);
    const reference = inputs.reference && { file: inputs.reference, offset: inputs.referenceOffset };
    const marks = inputs.marks && { file: inputs.marks, offset: inputs.marksOffset };
    const asked = { ...inputs.capture, map, busMap: givenBusMap(parsed), wants, title, reference, marks };
    const { report, written } = await runTask('prove', asked, terminal);
    if (output !== undefined && written) {
      await writeWhole(output, written.text);
      terminal.say(`${output}: ${written.words}`);
    }
    if (parsed.has('json')) {
      terminal.print(JSON.stringify(report, null, 2));
      return;
    }
    terminal.print(proofText(report, parsed.has('all')));
  },
};
