/**
 * What each column of a table is taken for, and the same as text: what `FileReport.columns` says and
 * `--columns` accepts. Parts are separated by semicolons, columns are counted from 1:
 *
 *     comma; skip=1; time=1 date; bus=2; direction=3; id=4 hex; length=5; data=6 hex
 *     spaces; time=1 seconds; id=2 decimal; length=3; bytes=4-11 hex
 *
 * A column may also be named by its heading in quotes: id="Arb. ID" hex. What is left out is guessed.
 */
import { bad, good, type Outcome } from '../../kit/outcome.ts';

export const DELIMITERS = { comma: ',', semicolon: ';', tab: '\t', pipe: '|', spaces: ' ' } as const;
export type Delimiter = keyof typeof DELIMITERS;

const TIME_FORMS = [
  'seconds',
  'milliseconds',
  'microseconds',
  'nanoseconds',
  // Each counts from the row before.
  'seconds-steps',
  'milliseconds-steps',
  'microseconds-steps',
  'nanoseconds-steps',
  'date',
  'date-day-first',
  'time-of-day',
] as const;
export type TimeForm = (typeof TIME_FORMS)[number];
/** `hex-wide`: identifiers written with eight digits are extended whatever their value. */
const ID_FORMS = ['hex', 'decimal', 'hex-wide'] as const;
export type IdForm = (typeof ID_FORMS)[number];
const DATA_FORMS = ['hex', 'decimal', 'binary'] as const;
export type DataForm = (typeof DATA_FORMS)[number];
const BYTE_FORMS = ['hex', 'decimal'] as const;
export type ByteForm = (typeof BYTE_FORMS)[number];

/** Roles of one column without a form. */
export const PLAIN_ROLES = [
  'date',
  // The fraction of the second where it has a column of its own.
  'milliseconds',
  'microseconds',
  'nanoseconds',
  'bus',
  'direction',
  // A flag that is set for frames that the logger sent, or for those that it received.
  'sent',
  'received',
  'extended',
  'length',
  'kind',
  'remote',
  'fd',
  'brs',
  'esi',
] as const;
export type PlainRole = (typeof PLAIN_ROLES)[number];
export type Role = 'time' | 'id' | 'data' | 'bytes' | PlainRole;

/** Columns are 0-based here, 1-based in text. */
export interface ColumnPlan {
  readonly delimiter: Delimiter;
  /** Lines before the first row, headings included. */
  readonly skip: number;
  readonly time: { readonly column: number; readonly form: TimeForm } | null;
  readonly id: { readonly column: number; readonly form: IdForm };
  readonly data: { readonly column: number; readonly form: DataForm } | null;
  readonly bytes: { readonly column: number; readonly count: number; readonly form: ByteForm } | null;
  readonly plain: Readonly<Partial<Record<PlainRole, number>>>;
}

/** What a person has fixed; the rest is guessed. A role set to null must not be taken. */
export interface PartialPlan {
  readonly delimiter?: Delimiter;
  readonly skip?: number;
  readonly time?: { readonly column: ColumnRef; readonly form?: TimeForm } | null;
  readonly id?: { readonly column: ColumnRef; readonly form?: IdForm };
  readonly data?: { readonly column: ColumnRef; readonly form?: DataForm };
  readonly bytes?: { readonly column: ColumnRef; readonly count: number | null; readonly form?: ByteForm };
  readonly plain?: Readonly<Partial<Record<PlainRole, ColumnRef | null>>>;
}

/** 0-based, or the heading. */
export type ColumnRef = number | string;

export function formatPlan(plan: ColumnPlan): string {
  const { time, id, data, bytes, plain } = plan;
  const parts: string[] = [plan.delimiter];
  if (plan.skip > 0) parts.push(`skip=${plan.skip}`);
  parts.push(time ? `time=${time.column + 1} ${time.form}` : 'time=none');
  parts.push(`id=${id.column + 1} ${id.form}`);
  if (data) parts.push(`data=${data.column + 1} ${data.form}`);
  if (bytes) parts.push(`bytes=${bytes.column + 1}-${bytes.column + bytes.count} ${bytes.form}`);
  for (const role of PLAIN_ROLES) {
    const column = plain[role];
    parts.push(column === undefined ? `${role}=none` : `${role}=${column + 1}`);
  }
  return parts.join('; ');
}

const PART = /^([a-z]+)\s*=\s*(?:"([^"]*)"|(none)|(\d+)(?:\s*-\s*(\d+)?)?)(?:\s+([a-z-]+))?$/i;

export function parsePlan(text: string): Outcome<PartialPlan> {
  const plan: Record<string, unknown> = {};
  const plain: Partial<Record<PlainRole, ColumnRef | null>> = {};
  for (const part of splitParts(text)) {
    const problem = takePart(part, plan, plain);
    if (problem) return bad({ code: 'bad-columns', message: problem, advice: HOW });
  }
  return good({ ...plan, plain });
}

const HOW = 'Write for example "comma; skip=1; time=1 seconds; id=2 hex; data=4 hex"; see docs/formats.md.';

/** At semicolons outside quotes. */
const splitParts = (text: string): string[] =>
  (text.match(/(?:"[^"]*"|[^;"])+/g) ?? []).map((part) => part.trim()).filter((part) => part !== '');

function takePart(
  part: string,
  plan: Record<string, unknown>,
  plain: Partial<Record<PlainRole, ColumnRef | null>>,
): string | null {
  if (part.toLowerCase() in DELIMITERS) {
    plan.delimiter = part.toLowerCase();
    return null;
  }
  const parts = PART.exec(part);
  if (!parts) return `"${part}" is not of the shape role=column form.`;
  const [, roleText, name, none, from, to, form] = parts;
  const role = (roleText as string).toLowerCase();
  if (role === 'skip') {
    plan.skip = Number(from ?? 0);
    return null;
  }
  if (from === '0' || to === '0') return `In "${part}" a column is 0, but columns are counted from 1.`;
  const column: ColumnRef = name ?? Number(from) - 1;
  if ((PLAIN_ROLES as readonly string[]).includes(role)) {
    plain[role as PlainRole] = none ? null : column;
    return form ? `"${part}": ${role} takes no form.` : null;
  }
  const forms = FORMS_BY_ROLE[role];
  if (!forms) return `"${role}" is no role of a column.`;
  if (form && !forms.includes(form.toLowerCase()))
    return `"${form}" is no form of ${role}: it can be ${forms.join(', ')}.`;
  if (none) {
    if (role !== 'time') return `"${part}": only time and the columns without a form can be none.`;
    plan.time = null;
    return null;
  }
  const count = to === undefined ? null : Number(to) - Number(from) + 1;
  if (count !== null && count < 1) return `In "${part}" the range runs backwards.`;
  plan[role] = { column, ...(form ? { form: form.toLowerCase() } : {}), ...(role === 'bytes' ? { count } : {}) };
  return null;
}

const FORMS_BY_ROLE: Readonly<Record<string, readonly string[]>> = {
  time: TIME_FORMS,
  id: ID_FORMS,
  data: DATA_FORMS,
  bytes: BYTE_FORMS,
};
