/** The diagnostics of a capture as `survey` prints them. */
import { grouped } from '../kit/figures.ts';
import { hexDigits } from '../kit/units.ts';
import type { ConversationReport, DiagnosticsReport, IdentifierReport } from '../reference/diagnostics/report.ts';
import { figure, textTable, wrapped } from './text-table.ts';

const COLUMNS = [
  { head: 'asked for' },
  { head: 'meaning' },
  { head: 'n', right: true },
  { head: 'bytes', right: true },
  { head: 'values', right: true },
  { head: 'least', right: true },
  { head: 'most', right: true },
  { head: 'unit' },
];

const hex = (value: number): string => hexDigits(value, 2);
const joined = (ids: readonly { readonly id: string }[]): string => ids.map(({ id }) => id).join(', ');

const rowOf = (each: IdentifierReport): string[] => [
  each.name,
  each.text ? `"${each.text}"` : (each.meaning ?? ''),
  grouped(each.n),
  each.bytes.join('/'),
  grouped(each.distinct),
  figure(each.min, 6),
  figure(each.max, 6),
  each.unit || (each.min === null ? '' : 'raw'),
];

function headOf(conversation: ConversationReport): string {
  const { bus, requests, answers, positive, negative, unanswered, unasked, ambiguous } = conversation;
  const asked = positive + negative + unanswered;
  const parts = [
    `${grouped(asked)} requests: ${grouped(positive)} answered, ${grouped(negative)} refused, ${grouped(unanswered)} without an answer`,
    unasked > 0 ? `${grouped(unasked)} answers without a request` : '',
    ambiguous > 0 ? `${grouped(ambiguous)} answers whose values may be cut in several ways, not used` : '',
  ];
  return `diagnostics on ${bus}: ${joined(requests)} asks, ${joined(answers)} answers; ${parts.filter(Boolean).join('; ')}`;
}

function conversationText(conversation: ConversationReport): string {
  const { negatives, identifiers, faults } = conversation;
  const refused = negatives.map(
    ({ service, code, count }) => `service ${hex(service)} code ${hex(code)}: ${grouped(count)}`,
  );
  const codes = [
    ...new Set(
      faults.flatMap(({ codes: all }) =>
        all.map(({ code, isLostCommunication }) => `${code}${isLostCommunication ? ' (a partner is not heard)' : ''}`),
      ),
    ),
  ];
  return [
    wrapped(headOf(conversation), 100, '  '),
    ...(refused.length > 0 ? [wrapped(`refused: ${refused.join(', ')}`, 100, '  ')] : []),
    ...(codes.length > 0 ? [wrapped(`fault codes: ${codes.join(', ')}`, 100, '  ')] : []),
    ...(identifiers.length > 0 ? [textTable(COLUMNS, identifiers.map(rowOf))] : []),
  ].join('\n');
}

/** A text for each conversation, and one for messages longer than a frame; none where nobody asks. */
export function diagnosticsText({ conversations, longMessages }: DiagnosticsReport): string[] {
  const { messages, broken, announced, connected } = longMessages;
  const long = `messages longer than a frame: ${grouped(messages)} whole of ${grouped(announced + connected)} begun, ${grouped(broken)} broken off`;
  return [...conversations.map(conversationText), ...(announced + connected > 0 ? [long] : [])];
}
