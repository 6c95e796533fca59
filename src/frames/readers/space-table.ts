/** Tables whose columns are set apart by runs of blanks. */
import { judgeTable } from '../columns/table-reader.ts';
import type { ReaderKind } from '../reading/reader.ts';

export const spaceTable: ReaderKind = {
  name: 'space-table',
  title: 'a table separated by blanks',
  isText: true,
  isTable: true,
  judge: (sample, options) => judgeTable(sample, options, ['spaces']),
};
