/** Tables with a delimiter, with any heading or none: comma, semicolon, tab or bar. */
import { judgeTable } from '../columns/table-reader.ts';
import type { ReaderKind } from '../reading/reader.ts';

export const csv: ReaderKind = {
  name: 'csv',
  title: 'a table with a delimiter',
  isText: true,
  isTable: true,
  judge: (sample, options) => judgeTable(sample, options, ['comma', 'semicolon', 'tab', 'pipe']),
};
