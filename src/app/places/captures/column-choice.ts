/** What the person has chosen for each column, and the same as the text that readers and the command line take. */
import type { ColumnPreview } from '../../../frames/column-preview.ts';

/** "time seconds", "id hex", "bus"; absent: not used. Columns count from 1. */
export type ColumnChoice = Readonly<Record<number, string>>;

export const CHOICES: readonly { readonly title: string; readonly choices: readonly (readonly [string, string])[] }[] =
  [
    {
      title: 'time',
      choices: [
        ['time seconds', 'time, s'],
        ['time milliseconds', 'time, ms'],
        ['time microseconds', 'time, µs'],
        ['time nanoseconds', 'time, ns'],
        ['time date', 'date and time'],
        ['time date-day-first', 'date and time, day first'],
        ['time time-of-day', 'time of day'],
        ['date', 'date alone'],
      ],
    },
    {
      title: 'identifier',
      choices: [
        ['id hex', 'identifier, hex'],
        ['id decimal', 'identifier, decimal'],
        ['id hex-wide', 'identifier, 8 digits extended'],
        ['extended', 'extended or not'],
      ],
    },
    {
      title: 'payload',
      choices: [
        ['data hex', 'payload, hex'],
        ['data decimal', 'payload, decimal'],
        ['data binary', 'payload, binary digits'],
        ['bytes hex', 'payload byte, hex'],
        ['bytes decimal', 'payload byte, decimal'],
        ['length', 'length'],
      ],
    },
    {
      title: 'further',
      choices: [
        ['bus', 'bus'],
        ['direction', 'direction'],
        ['kind', 'kind of frame'],
        ['remote', 'remote or not'],
        ['fd', 'CAN FD or not'],
        ['brs', 'rate switch or not'],
        ['esi', 'error state'],
      ],
    },
  ];

export const choiceOf = ({ columns }: ColumnPreview): ColumnChoice =>
  Object.fromEntries(
    columns.flatMap(({ column, role, form }) => (role ? [[column, form ? `${role} ${form}` : role]] : [])),
  );

/** A role that only one column may have moves to the column it is given to; payload bytes may be many. */
export function choose(choice: ColumnChoice, column: number, picked: string): ColumnChoice {
  const role = picked.split(' ')[0];
  const others = Object.entries(choice).filter(
    ([place, other]) => Number(place) !== column && (role === 'bytes' || other.split(' ')[0] !== role),
  );
  return Object.fromEntries(picked ? [...others, [column, picked]] : others);
}

export function printChoice(choice: ColumnChoice, delimiter: string, skip: number): string {
  const parts = Object.entries(choice).map(([column, picked]) => [Number(column), ...picked.split(' ')] as const);
  const bytes = parts.filter(([, role]) => role === 'bytes');
  const single = parts
    .filter(([, role]) => role !== 'bytes')
    .map(([column, role, form]) => `${role}=${column}${form ? ` ${form}` : ''}`);
  const columns = bytes.map(([column]) => column);
  const run = bytes[0] ? [`bytes=${Math.min(...columns)}-${Math.max(...columns)} ${bytes[0][2] ?? 'hex'}`] : [];
  return [delimiter, `skip=${skip}`, ...single, ...run].join('; ');
}
