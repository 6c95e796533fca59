/** The keep-alive plan as files: Markdown for a person, CSV for a table, JSON for a program. Units stand in the columns' names. */
import { idNumber } from '../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../map/schema.ts';
import { csvText } from './csv-text.ts';
import type { KeepAlivePlan, NeedReason, PlannedFrame } from './needs/types.ts';
import { describeChecksum, describeCounter, describeTiming } from './report/describe.ts';
import { markdownTable, markdownText, type TextTable } from './report/markup-text.ts';

const ROLE_ORDER: Readonly<Record<MapFrame['role'], number>> = {
  'needed-by-part': 0,
  unknown: 1,
  other: 2,
  'sent-by-part': 3,
};

/** Frames not sent by the part: those known to be needed first, then by identifier. */
export function neededFrames(map: SignalMap): MapFrame[] {
  return map.frames
    .filter(({ role }) => role !== 'sent-by-part')
    .toSorted((a, b) => ROLE_ORDER[a.role] - ROLE_ORDER[b.role] || idNumber(a.id) - idNumber(b.id));
}

const figure = (value: number | null | undefined, digits = 6): string =>
  value === null || value === undefined ? '' : String(Number(value.toPrecision(digits)));

const reasonText = ({ kind, speaksFor, words, capture }: NeedReason): string =>
  `${speaksFor === 'needed' ? '' : 'against: '}${kind}: ${words}${capture ? ` (${capture})` : ''}`;

const senderText = ({ sender }: MapFrame): string => (sender ? sender.name || `sender ${sender.group}` : '');

/** Name of a column and what stands in it. */
type Column = readonly [head: string, cell: (planned: PlannedFrame) => string];

const WHO: readonly Column[] = [
  ['bus', ({ frame }) => frame.bus],
  ['id', ({ frame }) => frame.id],
  ['extended', ({ frame }) => (frame.extended ? 'yes' : 'no')],
  ['name', ({ frame }) => frame.name],
  ['sender', ({ frame }) => senderText(frame)],
];
const WHEN: readonly Column[] = [
  ['timing', ({ frame }) => describeTiming(frame)],
  ['period_ms', ({ periodMs }) => figure(periodMs)],
  ['phase_ms', ({ phaseMs }) => figure(phaseMs)],
  ['first_after_wake_ms', ({ firstAfterWakeMs }) => figure(firstAfterWakeMs?.midMs, 4)],
  ['first_after_wake_least_ms', ({ firstAfterWakeMs }) => figure(firstAfterWakeMs?.lowMs, 4)],
  ['first_after_wake_most_ms', ({ firstAfterWakeMs }) => figure(firstAfterWakeMs?.highMs, 4)],
  ['wakings_seen', ({ firstAfterWakeMs }) => figure(firstAfterWakeMs?.n)],
  ['order_on_bus', ({ order }) => figure(order)],
];
const WHAT: readonly Column[] = [
  ['rest_payload', ({ frame }) => frame.rest?.payload ?? ''],
  ['counters', ({ frame }) => frame.counters.map(describeCounter).join('; ')],
  ['checksums', ({ frame }) => frame.checksums.map(describeChecksum).join('; ')],
  ['can_be_produced', ({ whyNotProduced }) => (whyNotProduced ? `no: ${whyNotProduced}` : 'yes')],
  ['may_command', ({ mayCommand }) => (mayCommand.length > 0 ? `yes: ${mayCommand.join(', ')}` : 'not shown harmless')],
];
const WHY: readonly Column[] = [
  ['need', ({ need }) => need],
  ['reasons', ({ reasons }) => reasons.map(reasonText).join('; ')],
];

function tableOf(columns: readonly Column[], { frames }: KeepAlivePlan): TextTable {
  return {
    head: columns.map(([head]) => head),
    rows: frames.map((planned) => columns.map(([, cell]) => cell(planned))),
  };
}

export function keepAliveCsv(plan: KeepAlivePlan): string {
  const { head, rows } = tableOf([...WHO, ...WHEN, ...WHAT, ['role', ({ frame }) => frame.role], ...WHY], plan);
  return [head, ...rows].map((cells) => cells.map(csvText).join(',')).join('\r\n') + '\r\n';
}

/** One planned frame as a program takes it: the frame itself stands in the map, under the same bus, id and extended. */
function plainFrame({ frame, ...planned }: PlannedFrame): object {
  const { bus, id, extended, name, rest, counters, checksums } = frame;
  return { bus, id, extended, name, ...planned, rest, counters, checksums };
}

/** Plain data for a program; `key` of a frame is its bus, id and extended. */
export function keepAliveJson({ frames, ...plan }: KeepAlivePlan): object {
  return { format: 'loomscribe.keep-alive', version: 1, frames: frames.map(plainFrame), ...plan };
}

const list = (lines: readonly string[]): string[] => lines.map((line) => `- ${markdownText(line)}`);
const section = (title: string, lines: readonly string[]): string[] =>
  lines.length > 0 ? ['', `## ${title}`, ...lines] : [];

function reasonLines({ frames }: KeepAlivePlan): string[] {
  return frames.flatMap(({ frame, reasons }) =>
    reasons.map((reason) => `- ${markdownText(`${frame.bus} ${frame.id} ${frame.name}: ${reasonText(reason)}`)}`),
  );
}

const SHORT_WHO = WHO.filter(([head]) => head !== 'extended');

export function keepAliveMarkdown(map: SignalMap, plan: KeepAlivePlan, cautions: readonly string[]): string {
  const untested = plan.frames.filter(({ need }) => need === 'untested').length;
  const from =
    plan.captures.length > 0
      ? `Found from the map and ${plan.captures.length === 1 ? 'one capture' : `${plan.captures.length} captures`}.`
      : 'Found from the map alone: phases and the order after wake-up are not known.';
  return [
    `# Keep-alive plan: ${markdownText(map.part.title) || 'donor part'}`,
    `Frames that the part does not send itself and may need from the rest of the vehicle. ${from} The payloads are those recorded`,
    'at rest. Phases count within the frames of one sender; places after a waking within one bus.',
    '',
    `Of ${plan.frames.length} frames ${untested} have not been tested: whether the part needs them only a bench trial shows.`,
    'A frame not marked "may command" is not thereby harmless.',
    ...section('What cannot be produced', list(plan.cannotBeProduced.map(({ says }) => says))),
    ...section('Cautions', list(cautions)),
    '',
    '## Frames and when they are sent',
    plan.frames.length > 0
      ? markdownTable(tableOf([...SHORT_WHO, ...WHEN, ['need', ({ need }) => need]], plan))
      : 'The map names no frame that another module sends.',
    ...section(
      'What they carry',
      plan.frames.length > 0 ? [markdownTable(tableOf([...SHORT_WHO, ...WHAT], plan))] : [],
    ),
    ...section('Reasons', reasonLines(plan)),
    ...section('Open', list(plan.open)),
    '',
  ].join('\n');
}
