/** Which span of a capture a person asked for: a mark by its words and number, or seconds that lie within one. */
import { bad, good, type Outcome } from '../../kit/outcome.ts';
import { EPOCH_FROM_S, secondsSince } from '../../kit/time-base.ts';
import type { RestMark, Span } from './rest-spans.ts';

/** "at rest", "at rest#2", "12.5:20". */
export type AskedSpan =
  | { readonly action: string; readonly number: number | null }
  /** Seconds from the capture's origin, or epoch seconds. */
  | Span;

export interface ChosenSpan extends Span {
  /** The mark it was taken from. */
  readonly mark: string;
}

export function parseSpan(text: string): AskedSpan {
  const [, from, to] = /^\s*(-?\d+(?:\.\d+)?)\s*:\s*(-?\d+(?:\.\d+)?)\s*$/.exec(text) ?? [];
  if (from !== undefined && to !== undefined) return { fromS: Number(from), toS: Number(to) };
  const [, action = text, number] = /^(.*)#(\d+)\s*$/s.exec(text) ?? [];
  return { action: action.trim(), number: number === undefined ? null : Number(number) };
}

const refused = (code: string, message: string, advice: string): Outcome<never> => bad({ code, message, advice });

const seconds = ({ fromS, toS }: Span): string => `${fromS.toFixed(2)} to ${toS.toFixed(2)} s`;
const named = ({ action, number }: RestMark): string => `${action}#${number}`;
const listed = (marks: readonly RestMark[]): string =>
  marks.map((mark) => `${named(mark)} (${mark.refused ?? seconds(mark.inner)})`).join('; ');

const MARK_IT =
  'Mark a span in which the vehicle stood in park, nobody touched a pedal and it was not charging, with the words "at rest".';

function byWords(action: string, number: number | null, marks: readonly RestMark[]): Outcome<ChosenSpan> {
  const own = marks.filter((mark) => mark.action.toLowerCase() === action.toLowerCase());
  if (own.length === 0)
    return refused(
      'no-such-rest-mark',
      `no mark with the words "${action}" says that the vehicle was at rest${marks.length > 0 ? `; those that do: ${listed(marks)}` : ''}.`,
      MARK_IT,
    );
  const mark = number === null ? (own.find(({ refused }) => refused === null) ?? own[0]) : own[number - 1];
  if (!mark)
    return refused('no-such-rest-mark', `there is no "${action}" number ${number}: ${listed(own)}.`, 'Count from 1.');
  if (mark.refused !== null)
    return refused('rest-mark-refused', `${named(mark)} cannot be taken: ${mark.refused}.`, MARK_IT);
  return good({ ...mark.inner, mark: named(mark) });
}

function bySeconds(asked: Span, marks: readonly RestMark[]): Outcome<ChosenSpan> {
  if (!(asked.toS > asked.fromS)) return refused('empty-span', 'the span ends before it begins.', 'Write FROM:TO.');
  const within = marks.find(({ fromS, toS }) => fromS <= asked.fromS && asked.toS <= toS);
  if (!within)
    return refused(
      'span-not-marked-at-rest',
      `${seconds(asked)} does not lie within a span marked at rest${marks.length > 0 ? `; there are ${listed(marks)}` : ''}.`,
      MARK_IT,
    );
  if (within.refused !== null)
    return refused('rest-mark-refused', `${named(within)} cannot be taken: ${within.refused}.`, MARK_IT);
  const { inner } = within;
  if (asked.fromS < inner.fromS || asked.toS > inner.toS)
    return refused(
      'span-within-margin',
      `${seconds(asked)} reaches into the margin of ${named(within)}: of that ${seconds(inner)} may be taken.`,
      'People mark late: the ends of a mark are not sure.',
    );
  return good({ fromS: asked.fromS, toS: asked.toS, mark: named(within) });
}

/** @param originText exact decimal seconds of the capture's first frame, null where its stamps do not count from 1970 */
export function chooseSpan(
  asked: AskedSpan,
  marks: readonly RestMark[],
  originText: string | null,
): Outcome<ChosenSpan> {
  if (marks.length === 0) return refused('no-rest-mark', 'no mark says that the vehicle was at rest.', MARK_IT);
  if ('action' in asked) return byWords(asked.action, asked.number, marks);
  const onCapture = (timeS: number): number =>
    Math.abs(timeS) >= EPOCH_FROM_S && originText !== null ? secondsSince(timeS, originText) : timeS;
  return bySeconds({ fromS: onCapture(asked.fromS), toS: onCapture(asked.toS) }, marks);
}
