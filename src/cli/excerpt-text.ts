/** What the verb `excerpt` says: the span, what would go, what stays out, what is to be read and typed. */
import type { ExcerptAnswer } from '../handover/sending/prepare.ts';
import type { RestWitness } from '../handover/sending/rest-check.ts';
import { REST_TOPICS } from '../handover/sending/rest-watch.ts';
import { heldBackText } from './held-back-text.ts';
import { grouped, textTable, wrapped } from './text-table.ts';

const NAMED = 3;

/** A line a topic: the first signals that bear the mark out, and how many more. */
function agreedText(witnesses: readonly RestWitness[]): string {
  if (witnesses.length === 0) return 'No signal of the map can tell: only the mark says that the vehicle was at rest.';
  const lines = REST_TOPICS.map((topic) => [topic, witnesses.filter((each) => each.topic === topic)] as const)
    .filter(([, own]) => own.length > 0)
    .map(([topic, own]) => {
      const names = own.slice(0, NAMED).map(({ name, n }) => `${name} (${grouped(n)} ${n === 1 ? 'value' : 'values'})`);
      const more = own.length > NAMED ? ` and ${own.length - NAMED} more` : '';
      return wrapped(`- ${topic}: ${names.join(', ')}${more}`, 100, '  ');
    });
  return ['The frames agree:', ...lines].join('\n');
}

export function spanText({ span, check, restMarks }: ExcerptAnswer): string {
  const marks = restMarks.map(
    ({ action, number, fromS, toS, refused }) =>
      `  ${action}#${number}: ${fromS.toFixed(2)} to ${toS.toFixed(2)} s${refused ? `, refused: ${refused}` : ''}`,
  );
  if (!span) return ['Marked at rest:', ...(marks.length > 0 ? marks : ['  nothing'])].join('\n');
  const taken = `${span.fromS.toFixed(2)} to ${span.toS.toFixed(2)} s, of ${span.mark}`;
  const unwatched = check && check.unwatched.length > 0 ? `only the mark tells: ${check.unwatched.join(', ')}` : '';
  return [`Span: ${taken}`, agreedText(check?.witnesses ?? []), unwatched].filter(Boolean).join('\n');
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
