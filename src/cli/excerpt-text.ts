/** What the verb `excerpt` says: the span, what would go, what stays out, what is to be read and typed. */
import type { ExcerptAnswer } from '../handover/sending/prepare.ts';
import { heldBackText } from './held-back-text.ts';
import { grouped, textTable, wrapped } from './text-table.ts';

export function spanText({ span, check, restMarks }: ExcerptAnswer): string {
  const marks = restMarks.map(
    ({ action, number, fromS, toS, refused }) =>
      `  ${action}#${number}: ${fromS.toFixed(2)} to ${toS.toFixed(2)} s${refused ? `, refused: ${refused}` : ''}`,
  );
  if (!span) return ['Marked at rest:', ...(marks.length > 0 ? marks : ['  nothing'])].join('\n');
  const taken = `${span.fromS.toFixed(2)} to ${span.toS.toFixed(2)} s, of ${span.mark}`;
  const witnesses = (check?.witnesses ?? []).map(({ topic, name, n }) => `${name} (${topic}, ${grouped(n)} values)`);
  const agreed = witnesses.length > 0 ? `the frames agree: ${witnesses.join(', ')}` : 'no signal of the map can tell';
  const unwatched = check && check.unwatched.length > 0 ? `only the mark tells: ${check.unwatched.join(', ')}` : '';
  return [`Span: ${taken}`, wrapped(agreed, 100, '  '), unwatched].filter(Boolean).join('\n');
}

function goingTable({ frames }: ExcerptAnswer): string {
  const rows = frames.map(({ key, name, count, because, mayCommand }) => [
    name,
    key,
    grouped(count),
    because,
    mayCommand.length > 0 ? `may command: ${mayCommand.join(', ')}` : '',
  ]);
  return textTable(
    [{ head: 'goes out' }, { head: 'frame' }, { head: 'in the span', right: true }, { head: 'because' }, { head: '' }],
    rows,
  );
}

export const keptOutText = (keptOut: readonly { readonly name: string; readonly why: string }[]): string =>
  heldBackText(keptOut, 'stay out');

export function excerptText(answer: ExcerptAnswer): string {
  const parts = [
    spanText(answer),
    answer.frames.length > 0 ? goingTable(answer) : '',
    keptOutText(answer.keptOut),
    answer.absent.length > 0 ? `Not in the span: ${answer.absent.join(', ')}` : '',
  ];
  return parts.filter(Boolean).join('\n\n');
}

export const cautionLines = (cautions: readonly string[]): string[] =>
  cautions.map((line) => wrapped(`caution: ${line}`, 100, '  '));

export const toConfirm = (phrase: string): string =>
  `Nothing was written. Read the cautions; if you mean it, say it: --confirm "${phrase}"`;
