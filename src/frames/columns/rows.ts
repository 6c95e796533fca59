/** Sample lines as rows of cells under one delimiter, with the heading found where there is one. */
import { isAside } from '../reading/asides.ts';
import { cellsOf } from './cells.ts';
import { numberOf } from './facts.ts';
import type { Delimiter } from './plan.ts';
import { meaningOf } from './words.ts';

export interface SampleRows {
  readonly delimiter: Delimiter;
  readonly columns: number;
  /** Empty texts where there is no heading. */
  readonly headings: readonly string[];
  readonly hasHeading: boolean;
  /** Lines before the first row. */
  readonly skip: number;
  /** [rows][columns], short rows filled up with empty cells. */
  readonly rows: readonly (readonly string[])[];
}

const ROWS_JUDGED = 600;
const HEADING_WITHIN = 80;
const LEAST_SHARE = 0.2;

export function sampleRows(
  head: readonly string[],
  deep: readonly string[],
  delimiter: Delimiter,
  skipGiven: number | null,
): SampleRows | null {
  const heading = skipGiven === null ? findHeading(head, delimiter) : headingBefore(head, delimiter, skipGiven);
  const skip = skipGiven ?? heading?.skip ?? 0;
  const body = head.slice(skip).filter((line) => !isAside(line));
  const picked = [
    ...body.slice(0, (ROWS_JUDGED * 2) / 3),
    ...deep.filter((line) => !isAside(line)).slice(0, ROWS_JUDGED / 3),
  ];
  const cells = picked.map((line) => cellsOf(line, delimiter)).filter((row) => row.length > 1);
  // A mark that most lines do not hold separates nothing.
  if (cells.length === 0 || cells.length < picked.length * LEAST_SHARE) return null;
  const columns = usualWidth(cells);
  const rows = cells.filter((row) => row.length >= 2).map((row) => fit(row, columns));
  return { delimiter, columns, headings: fit(heading?.cells ?? [], columns), hasHeading: heading !== null, skip, rows };
}

/** The widest row that is not a rare exception. */
function usualWidth(rows: readonly (readonly string[])[]): number {
  const widths = rows.map(({ length }) => length).sort((a, b) => a - b);
  return widths[Math.floor((widths.length - 1) * 0.98)] ?? 0;
}

const fit = (row: readonly string[], columns: number): string[] =>
  Array.from({ length: columns }, (_each, i) => row[i] ?? '');

interface Heading {
  readonly cells: string[];
  readonly skip: number;
}

function findHeading(head: readonly string[], delimiter: Delimiter): Heading | null {
  const looked = head.slice(0, HEADING_WITHIN).map((line) => cellsOf(stripMark(line), delimiter));
  const known = looked.findIndex((cells) => cells.length >= 2 && isKnownHeading(cells));
  if (known >= 0) {
    const cells = looked[known] as string[];
    return { cells, skip: rowsBefore(looked.slice(0, known), cells.length) ? 0 : known + 1 };
  }
  const first = looked.findIndex((cells, i) => cells.length >= 2 && !isAside(head[i] as string));
  const cells = looked[first];
  const isUnlike = cells?.every((cell) => !/\d/.test(cell) && !/^[0-9a-f]{2,}$/i.test(cell)) ?? false;
  return cells && isUnlike ? { cells, skip: first + 1 } : null;
}

/** Rows stand before the heading too where files were put together: a heading further down skips nothing. */
function rowsBefore(before: readonly (readonly string[])[], columns: number): boolean {
  return before.filter((cells) => cells.length === columns && cells.some(isValue)).length >= 3;
}

function headingBefore(head: readonly string[], delimiter: Delimiter, skip: number): Heading | null {
  const line = head[skip - 1];
  return line === undefined ? null : { cells: cellsOf(stripMark(line), delimiter), skip };
}

const stripMark = (line: string): string => line.replace(/^\s*[#;%]+\s*/, '');

/** A number with decimals, a time, or bytes: what no heading says. */
const isValue = (cell: string): boolean =>
  /^[([]?-?\d+[.,]\d+[)\]]?$/.test(cell) || /\d:\d\d/.test(cell) || /^([0-9a-f]{2}\s+)+[0-9a-f]{2}$/i.test(cell);

function isKnownHeading(cells: readonly string[]): boolean {
  const words = cells.filter(
    (cell) => meaningOf(cell) !== null && Number.isNaN(numberOf(cell)) && !/^[0-9a-f]{1,3}$/i.test(cell),
  );
  const numbers = cells.filter((cell) => !Number.isNaN(numberOf(cell)));
  return words.length >= 2 && numbers.length <= cells.length / 3 && !cells.some(isValue);
}
