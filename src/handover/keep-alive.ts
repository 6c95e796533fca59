/**
 * The keep-alive plan: frames that the part does not send itself and that it may need from the rest of the vehicle, as far
 * as recordings tell. Which of them it really needs only a bench trial shows. First version: no phases, no order after
 * wake-up.
 */
import { idNumber } from '../map/identifiers.ts';
import type { MapFrame, SignalMap } from '../map/schema.ts';
import { csvText } from './csv-text.ts';
import { describeChecksum, describeCounter, describeTiming } from './report/describe.ts';
import { mayCommand, whyNotSent } from './encode-choice.ts';
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

/** Modes that a part is kept alive for, the one that matters most first. */
const MODES_THAT_MATTER = ['driving', 'ready', 'on', 'charging'];

/** The period in the mode that matters most of those in which it has one; else the usual. */
function keptPeriodMs({ timing }: MapFrame): number | null {
  const known = MODES_THAT_MATTER.map((mode) => timing.byMode?.[mode]?.periodMs ?? null);
  return known.find((periodMs) => periodMs !== null) ?? timing.periodMs;
}

const HEAD = [
  'bus',
  'id',
  'extended',
  'name',
  'role',
  'timing',
  'period_ms',
  'rest_payload',
  'counters',
  'checksums',
  'can_be_produced',
  'may_command',
  'need',
  'how',
];

function planRow(frame: MapFrame): string[] {
  const commands = frame.signals.filter(mayCommand).map(({ name }) => name);
  return [
    frame.bus,
    frame.id,
    frame.extended ? 'yes' : 'no',
    frame.name,
    frame.role,
    describeTiming(frame),
    String(keptPeriodMs(frame) ?? ''),
    frame.rest?.payload ?? '',
    frame.counters.map(describeCounter).join('; '),
    frame.checksums.map(describeChecksum).join('; '),
    whyNotSent(frame) ? `no: ${whyNotSent(frame)}` : 'yes',
    commands.length > 0 ? `yes: ${commands.join(', ')}` : 'not shown harmless',
    frame.need.verdict,
    frame.need.how,
  ];
}

function keepAliveTable(map: SignalMap): TextTable {
  return { head: HEAD, rows: neededFrames(map).map(planRow) };
}

export function keepAliveCsv(map: SignalMap): string {
  const { head, rows } = keepAliveTable(map);
  return [head, ...rows].map((cells) => cells.map(csvText).join(',')).join('\r\n') + '\r\n';
}

export function keepAliveMarkdown(map: SignalMap, cautions: readonly string[]): string {
  const table = keepAliveTable(map);
  const untested = neededFrames(map).filter(({ need }) => need.verdict === 'untested').length;
  return [
    `# Keep-alive plan: ${markdownText(map.part.title) || 'donor part'}`,
    'First version: frames that the part does not send itself, with what was recorded of them. Phases and the order after',
    'wake-up are not worked out yet. The payloads are those recorded at rest.',
    '',
    `Of ${table.rows.length} frames ${untested} have not been tested: whether the part needs them only a bench trial shows.`,
    'A frame not marked "may command" is not thereby harmless.',
    '',
    '## Cautions',
    ...cautions.map((line) => `- ${markdownText(line)}`),
    '',
    '## Frames',
    table.rows.length > 0 ? markdownTable(table) : 'The map names no frame that another module sends.',
    '',
  ].join('\n');
}
