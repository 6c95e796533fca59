/**
 * The diagnostics found in a capture in words: who asks and who answers, what was refused and why, which fault codes. Names of the refusals are
 * those of ISO 14229-1, annex A.1, from memory.
 */
import type { ConversationReport, IdentifierReport } from '../../../reference/diagnostics/report.ts';
import { displayId, hexDigits } from '../../../kit/units.ts';
import { count, plural, value as valueWords } from '../../../kit/sheet-figures.ts';

const REFUSALS: Readonly<Record<number, string>> = {
  0x10: 'general reject',
  0x11: 'service not supported',
  0x12: 'sub-function not supported',
  0x13: 'wrong length or format',
  0x21: 'busy',
  0x22: 'conditions not correct',
  0x31: 'request out of range',
  0x33: 'security access denied',
  0x78: 'answer pending',
};

const who = (speakers: ConversationReport['requests']): string =>
  speakers.map(({ id, extended }) => displayId(Number(id), extended)).join(', ');

export const askedHead = ({ requests, answers }: ConversationReport): string =>
  `${who(requests)} asks, ${who(answers)} answers`;

export function askedWords(conversation: ConversationReport): string {
  const { positive, negative, unanswered, unasked, ambiguous, read } = conversation;
  const parts = [
    `${plural(positive + negative + unanswered, 'request')}: ${count(positive)} answered, ${count(negative)} refused, ${count(unanswered)} without an answer`,
    unasked > 0 ? `${plural(unasked, 'answer')} without a request` : '',
    ambiguous > 0
      ? `${count(ambiguous)} of ${count(ambiguous + read)} answers may be cut in several ways and are not used`
      : '',
  ];
  return `${parts.filter(Boolean).join('; ')}.`;
}

/** "refused: service 22, request out of range, 4 times"; empty where nothing was. */
export function refusedWords({ negatives }: ConversationReport): string {
  const each = negatives.map(
    ({ service, code, count: times }) =>
      `service ${hexDigits(service, 2)}, ${REFUSALS[code] ?? `code ${hexDigits(code, 2)}`}, ${plural(times, 'time')}`,
  );
  return each.length > 0 ? `Refused: ${each.join('; ')}.` : '';
}

export interface FaultTold {
  readonly code: string;
  /** "failing now, a partner is not heard". */
  readonly words: string;
}

/** Each code once, as it was last told. */
export function faultsTold({ faults }: ConversationReport): FaultTold[] {
  const last = new Map(
    [...faults].sort((a, b) => a.atUs - b.atUs).flatMap(({ codes }) => codes.map((code) => [code.code, code] as const)),
  );
  return [...last.values()].map(({ code, isFailing, isConfirmed, isLostCommunication }) => ({
    code,
    words: [
      isFailing ? 'failing now' : isConfirmed ? 'confirmed, not failing now' : 'stored',
      isLostCommunication ? 'a partner is not heard: it may have to be kept alive' : '',
    ]
      .filter(Boolean)
      .join('; '),
  }));
}

/** What the answers hold: a range with its unit, a text, or bytes that are no number. */
export function rangeWords({ min, max, unit, text, bytes }: IdentifierReport): string {
  if (text !== null) return `“${text}”`;
  if (min === null || max === null) return `${bytes.join(' or ')} bytes`;
  const range = min === max ? valueWords(min) : `${valueWords(min)} to ${valueWords(max)}`;
  return `${range} ${unit || 'raw'}`;
}
