/** Lines cut into cells as strings: for guessing and for the column chooser. Rows are read without this. */
import Papa from 'papaparse';
import { DELIMITERS, type Delimiter } from './plan.ts';

/** Trimmed cells. Anything with a quote goes through the library. */
export function cellsOf(line: string, delimiter: Delimiter): string[] {
  if (delimiter === 'spaces') return line.trim().split(/\s+/);
  const mark = DELIMITERS[delimiter];
  const cells = line.includes('"') ? quotedCells(line, mark) : line.split(mark);
  return cells.map((cell) => cell.trim());
}

export function quotedCells(line: string, mark: string): string[] {
  const [row] = Papa.parse<string[]>(line, { delimiter: mark, quoteChar: '"' }).data;
  return row ?? [''];
}
