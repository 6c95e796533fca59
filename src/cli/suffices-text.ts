/** What a recording is short of, as lines for a terminal, and the run card as a file that the workbench opens. */
import { emptyDossier, type Dossier } from '../jobs/dossier.ts';
import type { Need, NextRecording, RunCardStep, Sufficiency } from '../proof/suffices/types.ts';
import { wrapped } from './text-table.ts';

const WIDTH = 100;
const VERDICTS: Readonly<Record<Need['verdict'], string>> = {
  short: 'short',
  'cannot-tell': 'cannot tell',
  enough: 'enough',
};
const COLUMN = 13;

const needLine = ({ what, about, verdict, says }: Need): string =>
  VERDICTS[verdict].padEnd(COLUMN) +
  wrapped(`${about ? `${what} (${about})` : what}: ${says}`, WIDTH - COLUMN).replaceAll(
    '\n',
    `\n${' '.repeat(COLUMN)}`,
  );

function stepLine({ says, holdS, times }: RunCardStep): string {
  const held = holdS > 0 ? `, ${holdS} s` : '';
  return `      ${says}${held}${times > 1 ? `, ${times} times` : ''}`;
}

const minutes = (seconds: number): string => `about ${Math.max(1, Math.round(seconds / 60))} min`;

/** Rows that come again one after another are told once. */
function cardLines(card: readonly RunCardStep[]): string[] {
  const lines = card.map(stepLine);
  const cycle = [3, 4, 5, 6].find((length) => {
    const last = lines.length - length;
    return [...lines.keys()].some((at) => at + 2 * length <= last && isSame(lines, at, at + length, length));
  });
  if (cycle === undefined) return lines;
  const start = lines.findIndex((_, at) => isSame(lines, at, at + cycle, cycle));
  let rounds = 1;
  while (isSame(lines, start, start + rounds * cycle, cycle)) rounds++;
  return [
    ...lines.slice(0, start),
    `      ${rounds} times over:`,
    ...lines.slice(start, start + cycle).map((line) => `  ${line}`),
    ...lines.slice(start + rounds * cycle),
  ];
}

const isSame = (lines: readonly string[], a: number, b: number, length: number): boolean =>
  b + length <= lines.length && lines.slice(a, a + length).every((line, at) => line === lines[b + at]);

function recordingLines({ title, logger, card, says, lastsS }: NextRecording, place: number): string[] {
  return [
    `  ${place + 1}. ${title}, ${minutes(lastsS)}`,
    `     ${wrapped(says, WIDTH, '     ')}`,
    `     ${wrapped(logger, WIDTH, '     ')}`,
    ...cardLines(card),
  ];
}

/** @param all also what is enough */
export function sufficesText({ needs, next, take, beyond, says }: Sufficiency, all: boolean): string {
  const shown = needs.filter(({ verdict }) => all || verdict !== 'enough');
  return [
    `Before you cut it up: ${says}`,
    ...shown.map(needLine),
    ...(next.length > 0 ? ['', 'Record next'] : []),
    ...next.flatMap(recordingLines),
    ...(beyond.length > 0 ? ['', 'What this donor cannot show, and what to do instead'] : []),
    ...beyond.map(({ about, says: why, instead }) => `  ${wrapped(`${about}: ${why} ${instead}`, WIDTH, '  ')}`),
    '',
    'Take along',
    ...take.map((one) => `  ${wrapped(one.says, WIDTH, '  ')}`),
  ].join('\n');
}

/** A dossier that holds the run card: the given one with its card replaced, or one of its own. */
export function withRunCard(dossier: Dossier | null, { title, card }: NextRecording): Dossier {
  const own = dossier ?? emptyDossier();
  const named = card.flatMap(({ action }) => (action ? [action] : []));
  const part = own.part.title ? own.part : { ...own.part, title };
  return { ...own, part, actions: [...new Set([...own.actions, ...named])], runCard: [...card] };
}

/** "card.json", then "card-2.json". */
export const runCardPath = (path: string, place: number): string =>
  place === 0 ? path : path.replace(/(\.[^./\\]*)?$/, (ending) => `-${place + 1}${ending}`);
