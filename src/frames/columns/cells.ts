/** Lines cut into cells as strings: for guessing and for the column chooser. Rows are read without this. */
import Papa from 'papaparse';
import { DELIMITERS, type Delimiter } from './plan.ts';

/** Plain cells. Anything with a quote goes through the library. */
export function cellsOf(line: string, delimiter: Delimiter): string[] {
  // The same blanks as the cutter's: a no-break space separates nothing.
  if (delimiter === 'spaces') return line.replace(/^[\0- ]+|[\0- ]+$/g, '').split(/[\0- ]+/);
  const mark = DELIMITERS[delimiter];
  const cells = line.includes('"') ? quotedCells(line, mark) : line.split(mark);
  return cells.map(plainCell);
}

/** Without blanks around (no-break ones too), without apostrophes, and without what keeps spreadsheets from guessing: `="1E5"`. */
export function plainCell(cell: string): string {
  return cell
    .trim()
    .replace(/^="(.*)"$/, '$1')
    .replace(/^['\s]+|['\s]+$/g, '');
}

export function quotedCells(line: string, mark: string): string[] {
  const [row] = Papa.parse<string[]>(line, { delimiter: mark, quoteChar: '"' }).data;
  return row ?? [''];
}
