/** A comparison for a terminal: the missing module first, then who reacts, what is open, and the plain lists. */
import { confidenceFigure } from '../../kit/figures.ts';
import type {
  AppearanceChange,
  ChangedPayload,
  ComparedFrame,
  Comparison,
  ErrorsCompared,
  GroupFate,
  Judged,
  LoneFrame,
  Reaction,
} from '../../proof/compare/types.ts';
import { chance, figure, grouped, textTable, wrapped } from '../text-table.ts';

const WIDTH = 100;

const keyText = ({ bus, id, extended }: ComparedFrame): string => `${bus} ${id}${extended ? ' (29-bit)' : ''}`;

/** Which bus was taken for which, where their names differ or one has no partner. */
function busesText({ buses }: Comparison): string {
  const pairs = Object.entries(buses).map(([a, b]) => (b === null ? `${a} has no partner` : `${a} is ${b}`));
  return `buses of the first in the second: ${pairs.join(', ') || 'none'}`;
}

function section(title: string, lines: readonly string[], count = lines.length): string[] {
  if (lines.length === 0) return [];
  return [[`${title}: ${count}`, ...lines.map((line) => `  ${line}`)].join('\n')];
}

/** Identifier, group and confidence in columns, the reason under each. */
function judgedLines(list: readonly Judged[], what: (each: Judged) => string = () => ''): string[] {
  const heads = textTable(
    [{ head: '' }, { head: '' }, { head: '' }, { head: '' }],
    list.map((each) => [
      keyText(each),
      each.group === null ? '-' : `sender ${each.group}`,
      confidenceFigure(each.confidence),
      what(each),
    ]),
  )
    .split('\n')
    .slice(1);
  return list.flatMap((each, at) => [heads[at] as string, `    ${wrapped(each.why, WIDTH - 6, '      ')}`]);
}

const bytesText = (bytes: readonly number[]): string => `${bytes.length === 1 ? 'byte' : 'bytes'} ${bytes.join(', ')}`;

function reactionText(reaction: Reaction): string {
  const { how, bytes, periodMsA, periodMsB } = reaction;
  if (periodMsA !== undefined && periodMsB !== undefined)
    return `${how}: ${figure(periodMsA)} ms -> ${figure(periodMsB)} ms`;
  return bytes.length === 0 ? how : `${how}: ${bytesText(bytes)}`;
}

function fateText({ group, members, silent, slower, faster, otherwise }: GroupFate): string {
  const ids = (frames: readonly ComparedFrame[]): string => frames.map(({ id }) => id).join(', ');
  const parts = [
    silent > 0 ? `${silent} of ${members} fall silent` : '',
    slower.length > 0 ? `${slower.length} of ${members} slower: ${ids(slower)}` : '',
    faster.length > 0 ? `${faster.length} of ${members} faster: ${ids(faster)}` : '',
    otherwise > 0 ? `${otherwise} of ${members} react otherwise` : '',
  ].filter(Boolean);
  return `sender ${group}: ${parts.join('; ') || `all ${members} stay`}`;
}

/** Nothing of it where no module is missing: then only the sentence stands. */
function absentText({ absent }: Comparison): string[] {
  const { sentBy, copies, reacts, undecided, groups, why } = absent;
  return [
    wrapped(why, WIDTH),
    ...section('sent by the missing module', judgedLines(sentBy), sentBy.length),
    ...section('copies that stop with it', judgedLines(copies), copies.length),
    ...section(
      'react to its absence',
      judgedLines(reacts, (each) => reactionText(each as Reaction)),
      reacts.length,
    ),
    ...section('missing, reason open', judgedLines(undecided), undecided.length),
    ...(sentBy.length > 0 ? section('sender by sender', groups.map(fateText)) : []),
  ];
}

function loneText({ count, expected, ...frame }: LoneFrame): string {
  const missing = expected === null ? '' : `, about ${grouped(Math.round(expected))} expected in the other`;
  return `${keyText(frame)}  ${grouped(count)} ${count === 1 ? 'frame' : 'frames'}${missing}`;
}

function payloadText({ bytes, how, due, steady, ...frame }: ChangedPayload): string {
  const moves = due === null ? '' : `, ${grouped(Math.round(due))} moves due`;
  const use = steady ? '' : ' (moves in bursts: another drive may do that)';
  return `${keyText(frame)}  ${bytesText(bytes)}: ${how}${moves}${use}`;
}

function appearanceText({ laterMs, laterSeMs, delayMsA, delayMsB, rankA, rankB, ...frame }: AppearanceChange): string {
  const shift = `${laterMs > 0 ? 'later' : 'earlier'} by ${grouped(Math.abs(laterMs))} +- ${grouped(laterSeMs)} ms`;
  return `${keyText(frame)}  ${shift} (${grouped(delayMsA)} ms -> ${grouped(delayMsB)} ms; place ${rankA} -> ${rankB})`;
}

function errorsText({ bus, rateA, rateB, startsS, verdict, p }: ErrorsCompared): string {
  const rate = ({ perSecond, low, high }: ErrorsCompared['rateA']): string =>
    `${figure(perSecond, 3)} (${figure(low, 3)} to ${figure(high, 3)}) a second`;
  const from = startsS === null ? '' : `, from ${figure(startsS)} s on in the second`;
  return `${bus}  ${verdict}: ${rate(rateA)} -> ${rate(rateB)}, p ${chance(p)}${from}`;
}

export function comparisonText(comparison: Comparison): string {
  const { appearance } = comparison;
  const timing = comparison.timingChanged.map(
    (frame) => `${keyText(frame)}  ${figure(frame.periodMsA)} ms -> ${figure(frame.periodMsB)} ms`,
  );
  const plain = (title: string, lines: readonly string[]): string => section(title, lines)[0] ?? `${title}: none`;
  return [
    ...absentText(comparison),
    busesText(comparison),
    plain('only in the first', comparison.onlyInA.map(loneText)),
    plain('only in the second', comparison.onlyInB.map(loneText)),
    plain('period changed', timing),
    plain('payload changed', comparison.payloadChanged.map(payloadText)),
    wrapped(`after a waking: ${appearance.why}`, WIDTH),
    ...section('earlier or later after a waking', appearance.changed.map(appearanceText)),
    plain('error frames', comparison.errors.map(errorsText)),
  ].join('\n\n');
}
