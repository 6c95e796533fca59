/** `survey`: the inventory of a capture. */
import { confidenceFigure } from '../../kit/figures.ts';
import type { Survey, SurveyFrame } from '../../timing/types.ts';
import { wholeOf } from '../arguments.ts';
import { inputsFrom } from '../inputs.ts';
import { cannotLines } from '../cannot-text.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION, RATE_OPTION } from '../capture-arguments.ts';
import { diagnosticsText } from '../diagnostics-text.ts';
import { runTask } from '../run-task.ts';
import { figure, grouped, textTable, wrapped } from '../text-table.ts';
import type { Verb } from '../verb.ts';
import { MARK_OPTIONS, SEED_OPTION } from './link.ts';

const COLUMNS = [
  { head: 'bus' },
  { head: 'id' },
  { head: 'count', right: true },
  { head: 'bytes', right: true },
  { head: 'sender' },
  { head: 'timing' },
  { head: 'period ms', right: true },
  { head: 'jitter ms', right: true },
  { head: 'first s', right: true },
  { head: 'last s', right: true },
  { head: 'gaps', right: true },
  { head: '' },
];

/** Letter and confidence of its sender group, or what it is a copy of. */
function senderText({ group, groupConfidence, copyOf, byHand }: SurveyFrame): string {
  if (byHand) return `${group ?? 'none'} by hand`;
  if (copyOf) return `copy of ${copyOf.bus} ${copyOf.id}`;
  return group === null ? '' : `${group} ${confidenceFigure(groupConfidence ?? 0)}`;
}

const NETWORK = { ring: 'network management, a ring', 'partial-network': 'network management' };

function remark({ direction, network }: SurveyFrame): string {
  if (direction === 'sent') return 'sent by the logger';
  return network ? `${NETWORK[network.kind]}, node ${network.node}` : '';
}

/** Why identifiers are network management, and what follows from that. */
const networkLines = (frames: readonly SurveyFrame[]): string[] =>
  frames.flatMap(({ bus, id, network }) => (network ? [wrapped(`${bus} ${id}: ${network.why}`, 100, '  ')] : []));

function row(frame: SurveyFrame): string[] {
  return [
    frame.bus,
    frame.id,
    grouped(frame.count),
    frame.lengths.map(({ length }) => length).join('/'),
    senderText(frame),
    frame.timing.kind,
    figure(frame.timing.periodMs),
    figure(frame.timing.jitterMs, 3),
    frame.firstS.toFixed(3),
    frame.lastS.toFixed(3),
    String(frame.gaps.length),
    moreText(frame),
  ];
}

function busLine(bus: Survey['buses'][number]): string {
  const load =
    bus.load === null
      ? 'load unknown: give --bitrate'
      : `load ${(bus.load * 100).toFixed(1)} %, peak ${((bus.peakLoad ?? 0) * 100).toFixed(1)} %`;
  const extra = [
    bus.remotes ? `${grouped(bus.remotes)} remote` : '',
    bus.errors ? `${grouped(bus.errors)} errors` : '',
  ];
  return [`${bus.name}: ${grouped(bus.frames)} frames`, load, ...extra].filter(Boolean).join(', ');
}

/** "A inverter, B pack": senders that a person named; nothing where none is. */
function namesLine(groups: Survey['groups']): string[] {
  const named = groups.flatMap(({ group, name }) => (name ? [`${group} ${name}`] : []));
  return named.length ? [`senders: ${named.join(', ')}`] : [];
}

const seconds = (s: number): string => s.toFixed(s < 100 ? 2 : 1);

/** One line of what the vehicle did; nothing to say where it did one thing all the while. */
function modesText({ modes }: Survey): string[] {
  if (modes.length === 0) return [];
  const spans = modes.map(({ mode, fromS, toS }) => `${mode} ${seconds(fromS)} to ${seconds(toS)} s`);
  return [wrapped(`modes: ${spans.join(', ')}`, 100, '  ')];
}

/** The period in each mode, where modes differ. */
function byModeText({ timing }: SurveyFrame): string {
  const told = Object.entries(timing.byMode ?? {}).filter(([, { periodMs }]) => periodMs !== null);
  const base = timing.periodMs;
  const differs = told.some(([, { periodMs }]) => base === null || Math.abs((periodMs as number) / base - 1) > 0.02);
  return differs ? told.map(([mode, { periodMs }]) => `${mode} ${figure(periodMs)}`).join(', ') : '';
}

/** What is beyond a kind and a period: what is answered, and how changes are repeated. */
function moreText(frame: SurveyFrame): string {
  const { replyTo, delayMs, burst } = frame.timing;
  return [
    remark(frame),
    replyTo ? `answers ${replyTo} after ${figure(delayMs ?? null)} ms` : '',
    burst ? `${burst.count} frames ${figure(burst.periodMs)} ms apart` : '',
    byModeText(frame),
  ]
    .filter(Boolean)
    .join('; ');
}

function surveyText(survey: Survey): string {
  const { capture } = survey;
  return [
    `${grouped(capture.frames)} frames in ${capture.durationS.toFixed(3)} s from ${capture.originS}; ${grouped(capture.rejected)} lines rejected`,
    wrapped(`clock: ${capture.clock.verdict}`, 100, '  '),
    ...survey.buses.map(busLine),
    ...modesText(survey),
    ...namesLine(survey.groups),
    '',
    textTable(COLUMNS, survey.frames.map(row)),
    ...networkLines(survey.frames),
  ].join('\n');
}

export const survey: Verb = {
  name: 'survey',
  summary: 'what a capture holds: identifiers, periods, lengths, gaps, bus load',
  usage: 'CAPTURE... [--bitrate BUS=RATE] [--marks FILE] [--json]',
  about:
    "Reads a capture and prints its inventory. Every line of every file is accounted for; what was rejected is counted and said.\nIdentifiers whose frames keep one clock over the same minutes share a sender letter, with its confidence; the others have none. Give minutes, with stamps as fine as the adapter can.\nModes come from who sends when; marks name what is ready, driving or charging. What to add to the marks' times is found in the data, by bits that switch now and then or else over all fields as draft does, unless --marks-offset gives it; which was used is said.",
  options: [RATE_OPTION, ...MARK_OPTIONS, SEED_OPTION, DOSSIER_OPTION, ...CAPTURE_OPTIONS, JSON_OPTION],
  example: 'loomscribe survey drive-1.log --bitrate can0=500000 --bitrate can1=250000',
  async run(parsed, terminal) {
    const { capture, rates, trim, marks, marksOffset, dossier } = await inputsFrom(parsed, terminal);
    const hand = dossier && { senders: dossier.senders, senderMoves: dossier.senderMoves };
    const seed = wholeOf(parsed.one('seed') ?? '1', 'seed');
    const answer = await runTask('survey', { ...capture, rates, trim, marks, marksOffset, seed, hand }, terminal);
    const { marksClock } = answer;
    if (marksClock) terminal.say(wrapped(`marks' clock: ${marksClock.words}`, 100, '  '));
    if (parsed.has('json')) {
      const { survey: inventory, diagnostics, cannotBeProduced } = answer;
      const clock = marksClock ? { marksClock } : {};
      terminal.print(JSON.stringify({ ...inventory, diagnostics, cannotBeProduced, ...clock }, null, 2));
      return;
    }
    for (const line of cannotLines(answer.cannotBeProduced)) terminal.say(line);
    for (const { file, why } of answer.readings) terminal.say(wrapped(`${file}: ${why}`, 100, '  '));
    terminal.print([surveyText(answer.survey), ...diagnosticsText(answer.diagnostics)].join('\n\n'));
  },
};
