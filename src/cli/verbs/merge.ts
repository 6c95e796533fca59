/** `merge`: two people's maps of one part as one. */
import { parseMap } from '../../map/parse.ts';
import { printMap } from '../../map/print.ts';
import type { MergeItem, MergeOutcome, MergeReport } from '../../proof/merge/types.ts';
import { isPlain } from '../../proof/merge/canonical.ts';
import { mergeMaps } from '../../proof/merge/merge-maps.ts';
import { WrongUsage } from '../arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { JSON_OPTION } from '../capture-arguments.ts';
import { prepareOutput, writeWhole } from '../files.ts';
import { parseFile } from '../tasks/context.ts';
import { grouped, textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

const count = ({ items }: MergeReport, outcome: MergeOutcome): number =>
  items.filter((item) => item.outcome === outcome).length;

const COLUMNS = [
  { head: 'frame' },
  { head: 'equal', right: true },
  { head: 'united', right: true },
  { head: 'first only', right: true },
  { head: 'second only', right: true },
  { head: 'conflicts', right: true },
];

const OUTCOMES: readonly MergeOutcome[] = ['equal', 'united', 'only-in-first', 'only-in-second', 'conflict'];
const frameText = ({ frame }: MergeItem): string => (frame ? `${frame.bus} ${frame.id} ${frame.name}` : 'whole map');

function frameRows({ items }: MergeReport): string[][] {
  const frames = [...new Set(items.map(frameText))];
  return (
    frames
      .map((frame) => ({ frame, own: items.filter((item) => frameText(item) === frame) }))
      // Every frame was recorded at rest twice: no news.
      .filter(({ own }) => own.some(({ outcome, item }) => outcome !== 'equal' && item !== 'rest'))
      .map(({ frame, own }) => [
        frame,
        ...OUTCOMES.map((outcome) => String(own.filter((item) => item.outcome === outcome).length)),
      ])
  );
}

/** What names and places a claim is shown for every version, of the rest only what tells two apart. Evidence stands in the map. */
const ALWAYS = ['name', 'lsb', 'length', 'order'];
const NEVER = ['evidence', 'notes', 'observed', 'alsoNamed', 'mayExtend'];

const LONGEST = 160;
const short = (text: string): string => (text.length > LONGEST ? `${text.slice(0, LONGEST)}…` : text);

function versionText(version: unknown, other: unknown): string {
  if (version === undefined) return 'nothing';
  if (Array.isArray(version)) return version.map((one) => versionText(one, undefined)).join(' ');
  if (!isPlain(version)) return short(JSON.stringify(version));
  const differs = (key: string, value: unknown): boolean =>
    value !== null && (!isPlain(other) || JSON.stringify(other[key]) !== JSON.stringify(value));
  const shown = Object.entries(version).filter(
    ([key, value]) => ALWAYS.includes(key) || (!NEVER.includes(key) && differs(key, value)),
  );
  return shown
    .map(([key, value]) => `${key} ${short(typeof value === 'string' ? value || '(none)' : JSON.stringify(value))}`)
    .join(', ');
}

function conflictText(item: MergeItem): string[] {
  const kept = item.kept === null ? 'set aside' : `the ${item.kept} is in force${item.decided ? '' : ', undecided'}`;
  const line = (side: string, version: unknown, other: unknown): string =>
    `      ${side} ${wrapped(versionText(version, other), 84, '             ')}`;
  return [
    `  ${frameText(item)}`,
    `    ${wrapped(`${item.item} ${item.name}: ${item.detail}; ${kept}`, 94, '      ')}`,
    line('first ', item.first, item.second),
    line('second', item.second, item.first),
  ];
}

function mergeText(report: MergeReport, output: string): string {
  const conflicts = report.items.filter(({ outcome }) => outcome === 'conflict');
  const undecided = conflicts.filter(({ decided }) => !decided).length;
  const rows = frameRows(report);
  const renamed = Object.entries(report.buses).map(([from, to]) => `the second's bus ${from} is ${to}`);
  return [
    `${grouped(count(report, 'equal'))} items equal, ${grouped(count(report, 'united'))} united, ${grouped(count(report, 'only-in-first'))} only in the first, ${grouped(count(report, 'only-in-second'))} only in the second, ${grouped(conflicts.length)} in conflict (${grouped(undecided)} undecided); written to ${output}`,
    ...renamed,
    ...(rows.length > 0 ? ['', textTable(COLUMNS, rows)] : []),
    ...(conflicts.length > 0 ? ['', 'conflicts:', ...conflicts.flatMap(conflictText)] : []),
  ].join('\n');
}

export const merge: Verb = {
  name: 'merge',
  summary: "two people's maps of one part as one, with every conflict side by side",
  usage: 'MAP MAP -o MAP [--json]',
  about:
    'Merges item by item. The same item is recognised by bus, identifier and place of bits, not by its name. Where one map knows more, what both know is taken together, with the evidence of both.\nNothing is dropped: of two versions that contradict each other both are kept. What a person set is in force, then the better standing; where that does not decide, one is, marked "disputed" and as a guess, and the other stands under "setAside" in the map.',
  options: [
    { name: 'output', short: 'o', value: 'MAP', required: true, help: 'the merged map' },
    busMapOption("the second map's bus MAPBUS is the first's BUS, where overlap of identifiers does not tell"),
    JSON_OPTION,
  ],
  example: 'loomscribe merge mine.json hers.json -o ours.json',
  async run(parsed, terminal) {
    const [one, other, ...more] = parsed.words;
    if (one === undefined || other === undefined || more.length > 0)
      throw new WrongUsage(`merge takes two maps, not ${parsed.words.length}.`);
    const output = parsed.one('output') as string;
    prepareOutput(output);
    const first = await parseFile(one, parseMap, terminal);
    const second = await parseFile(other, parseMap, terminal);
    const { map, report } = mergeMaps(first, second, { busMap: givenBusMap(parsed) });
    report.warnings.forEach((warning) => terminal.warn(warning));
    await writeWhole(output, printMap(map));
    terminal.print(parsed.has('json') ? JSON.stringify(report, null, 2) : mergeText(report, output));
  },
};
