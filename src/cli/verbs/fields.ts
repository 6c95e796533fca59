/** `fields`: the payload structure of every identifier. */
import { describePlace, describeTiming, describeWhen } from '../../handover/report/describe.ts';
import { decisionsOfMap } from '../../draft/confirmed.ts';
import { isFrame } from '../../draft/types.ts';
import { sameValueWords } from '../../fields/same-value/words.ts';
import { confidenceFigure } from '../../kit/figures.ts';
import { parseMap } from '../../map/parse.ts';
import type { MapChecksum, MapFrame, MapSignal } from '../../map/schema.ts';
import { cannotLines } from '../cannot-text.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { handWorkOf, inputsFrom } from '../inputs.ts';
import { parseFile } from '../tasks/context.ts';
import { runTask } from '../run-task.ts';
import { textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

const COLUMNS = [
  { head: 'what' },
  { head: 'name' },
  { head: 'place' },
  { head: 'reading' },
  { head: 'sure', right: true },
];
const INDENT = '  ';

interface Row {
  readonly cells: readonly string[];
  /** The finder's reason; empty where it gave none. */
  readonly why: string;
  /** Which other field shows the same value; empty where none is told. */
  readonly same: string;
}

const sameOf = ({ bus }: MapFrame, item: object): string => {
  const evidence = 'evidence' in item ? (item as MapSignal).evidence : [];
  return evidence
    .map((one) => sameValueWords(one, bus) ?? '')
    .filter(Boolean)
    .join('; ');
};

const whyOf = (item: object): string => ('why' in item && typeof item.why === 'string' ? item.why : '');
const joined = (...parts: string[]): string => parts.filter(Boolean).join(', ');

function signalReading(signal: MapSignal): string {
  const page = describeWhen(signal.when);
  return joined(signal.coding, page && `where ${page}`);
}

/** The rule in short; `--why` and JSON have all of it. */
function checksumReading({ method, poly, init }: MapChecksum): string {
  return joined(method, poly ? `poly ${poly}` : '', init ? `from ${init}` : '');
}

function rowsOf(frame: MapFrame): Row[] {
  const row = (item: object, cells: readonly string[]): Row => ({
    cells,
    why: whyOf(item),
    same: sameOf(frame, item),
  });
  return [
    ...frame.counters.map((c) =>
      row(c, [
        'counter',
        c.name,
        describePlace(c),
        `${c.min} to ${c.max}, step ${c.step}`,
        confidenceFigure(c.confidence),
      ]),
    ),
    ...frame.checksums.map((c) =>
      row(c, ['checksum', '', describePlace(c), checksumReading(c), confidenceFigure(c.confidence)]),
    ),
    ...frame.selectors.map((s) =>
      row(s, ['selector', s.name, describePlace(s), 'says which page', confidenceFigure(s.confidence)]),
    ),
    ...frame.signals.map((s) =>
      row(s, [s.kind, s.name, describePlace(s), signalReading(s), confidenceFigure(s.confidence)]),
    ),
  ];
}

/** "20 bits constant, 8 idle" */
function unclaimedText(frame: MapFrame): string {
  const bits = new Map<string, number>();
  for (const { reason, length } of frame.unclaimed) bits.set(reason, (bits.get(reason) ?? 0) + length);
  return [...bits].map(([reason, count]) => `${count} ${count === 1 ? 'bit' : 'bits'} ${reason}`).join(', ');
}

function tableOf(rows: readonly Row[], reasons: boolean): string[] {
  if (rows.length === 0) return [];
  const [head, ...lines] = textTable(
    COLUMNS,
    rows.map(({ cells }) => cells),
  ).split('\n') as [string, ...string[]];
  const reason = (why: string): string[] => (why ? [INDENT.repeat(3) + wrapped(why, 94, INDENT.repeat(3))] : []);
  const below = (row: Row | undefined): string[] => [
    ...reason(row?.same ?? ''),
    ...(reasons ? reason(row?.why ?? '') : []),
  ];
  return [INDENT + head, ...lines.flatMap((line, i) => [INDENT + line, ...below(rows[i])])];
}

const ASKED =
  'A tester\u2019s questions, or the answers to them: a byte means something only together with the question. survey counts them, fit takes the answers for a reference.';

function frameText(frame: MapFrame, reasons: boolean, isAsked: boolean): string {
  const size = `${frame.length} ${frame.length === 1 ? 'byte' : 'bytes'}`;
  const rest = unclaimedText(frame);
  return [
    `${frame.bus} ${frame.id}${frame.extended ? ' (29-bit)' : ''}: ${size}, ${describeTiming(frame)}`,
    ...(isAsked ? [INDENT + wrapped(ASKED, 98, INDENT)] : []),
    ...tableOf(rowsOf(frame), reasons),
    ...(rest ? [`${INDENT}rest: ${rest}`] : []),
  ].join('\n');
}

export const fields: Verb = {
  name: 'fields',
  summary: 'payload structure of every identifier: spans, order, coding, counters, checksums',
  usage: 'CAPTURE... [--map MAP] [--why] [--json]',
  about:
    'Proposes where values begin and end in each payload, in which byte order and coding, and which bits guard the frame. Names are made from the place.\nEach proposal carries its confidence and its reason. What looks like noise or ciphertext is left unclaimed and named so. Of a tester\u2019s questions and the answers to them no structure is proposed.',
  options: [
    { name: 'why', help: 'the reason beneath each proposal; --json always has it' },
    {
      name: 'map',
      value: 'MAP',
      help: 'a signal map given back: what is confirmed in it binds, and where the finders differ is said',
    },
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe fields drive-1.log --json > fields.json',
  async run(parsed, terminal) {
    const { capture, dossier } = await inputsFrom(parsed, terminal);
    const path = parsed.one('map');
    const map = path ? await parseFile(path, parseMap, terminal) : null;
    const decisions = [...(dossier ? (handWorkOf(dossier).decisions ?? []) : []), ...(map ? decisionsOfMap(map) : [])];
    const { frames, asked, cannotBeProduced } = await runTask('fields', { ...capture, decisions }, terminal);
    for (const line of cannotLines(cannotBeProduced)) terminal.say(line);
    if (parsed.has('json')) {
      terminal.print(JSON.stringify({ frames }, null, 2));
      return;
    }
    const textOf = (frame: MapFrame): string =>
      frameText(
        frame,
        parsed.has('why'),
        asked.some((key) => isFrame(frame, key)),
      );
    if (frames.length === 0) terminal.say('The capture holds no data frames that the vehicle sent.');
    else terminal.print(frames.map(textOf).join('\n\n'));
  },
};
