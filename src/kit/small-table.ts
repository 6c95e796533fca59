/**
 * Small tables that people write by hand or export: a header and some rows, separated by comma,
 * semicolon or tab, quoted where needed. The dialect is papaparse's work (RFC 4180); this adds line numbers,
 * column look-up by name and numbers with a decimal comma where the separator leaves room for one.
 */
import Papa from 'papaparse';
import { bad, good, type Outcome } from './outcome.ts';

export interface SmallRow {
  /** 1-based line of the file on which the row starts. */
  readonly line: number;
  readonly cells: readonly string[];
}

export interface SmallTable {
  readonly header: readonly string[];
  readonly rows: readonly SmallRow[];
  readonly delimiter: string;
}

/** Line number of each place in a text, asked in ascending order; \r\n, \n and \r each end a line. */
function lineCounter(text: string): (at: number) => number {
  let line = 1;
  let reached = 0;
  return (at) => {
    for (; reached < at; reached++) {
      const code = text.charCodeAt(reached);
      if (code === 10 || (code === 13 && text.charCodeAt(reached + 1) !== 10)) line++;
    }
    return line;
  };
}

const isBlank = (cells: readonly string[]): boolean => cells.every((cell) => cell.trim() === '');
const isComment = (cells: readonly string[]): boolean => (cells[0] as string).startsWith('#');

const DELIMITERS = [',', ';', '\t'] as const;

/** What separates the header's names: rows may hold decimal commas, headers do not. */
function delimiterOf(body: string): string {
  const header = body.split(/[\r\n]+/).find((line) => line.trim() !== '' && !line.startsWith('#')) ?? '';
  const bare = header.replace(/"[^"]*"/g, '');
  const counts = DELIMITERS.map((delimiter) => bare.split(delimiter).length);
  return DELIMITERS[counts.indexOf(Math.max(...counts))] as string;
}

/** Splits a text into a header and rows; blank lines and lines that start with # are passed over. */
export function parseSmallTable(text: string, name: string, headerHint: string): Outcome<SmallTable> {
  const body = text.replace(/^\uFEFF/, '');
  const lineAt = lineCounter(body);
  const rows: SmallRow[] = [];
  let start = 0;
  const delimiter = delimiterOf(body);
  Papa.parse<string[]>(body, {
    delimiter,
    step: ({ data, meta }) => {
      const line = lineAt(start);
      start = meta.cursor;
      if (!isBlank(data) && !isComment(data)) rows.push({ line, cells: data.map((cell) => cell.trim()) });
    },
  });
  const [first, ...rest] = rows;
  if (!first) {
    return bad({
      code: 'empty-table',
      message: 'the file has no rows',
      advice: `Begin it with the header ${headerHint}.`,
      place: { file: name },
    });
  }
  return good({ header: first.cells, rows: rest, delimiter });
}

/** A number as people write it; NaN where it is none. A decimal comma only where commas separate nothing. */
export function parseNumber(cell: string, delimiter: string): number {
  const plain = delimiter === ',' ? cell : cell.replace(',', '.');
  return /^[+-]?(\d+\.?\d*|\.\d+)([eE][+-]?\d+)?$/.test(plain) ? Number(plain) : Number.NaN;
}

/** A cell as RFC 4180 writes it. */
export function quoteCell(cell: string): string {
  return /[",;\t\r\n]|^\s|\s$|^#/.test(cell) ? `"${cell.replaceAll('"', '""')}"` : cell;
}
