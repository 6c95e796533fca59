/** Rows of cells into columns of text for a terminal: numbers to the right, words to the left. */
export interface TextColumn {
  readonly head: string;
  readonly right?: boolean;
}

export function textTable(columns: readonly TextColumn[], rows: readonly (readonly string[])[]): string {
  const widths = columns.map((column, i) => Math.max(column.head.length, ...rows.map((row) => (row[i] ?? '').length)));
  const line = (cells: readonly string[]): string =>
    columns
      .map((column, i) =>
        column.right ? (cells[i] ?? '').padStart(widths[i] ?? 0) : (cells[i] ?? '').padEnd(widths[i] ?? 0),
      )
      .join('  ')
      .trimEnd();
  return [line(columns.map((column) => column.head)), ...rows.map(line)].join('\n');
}

/** Words broken into lines of at most `width`; lines after the first begin with `indent`, which counts. */
export function wrapped(text: string, width: number, indent = ''): string {
  const lines: string[] = [];
  let line = '';
  for (const word of text.split(' ')) {
    const room = lines.length === 0 ? width : width - indent.length;
    if (line && line.length + 1 + word.length > room) {
      lines.push(line);
      line = word;
    } else line = line ? `${line} ${word}` : word;
  }
  return [...lines, line].join(`\n${indent}`);
}

export { grouped } from '../kit/figures.ts';

/** A figure with at most so many significant digits, never in exponents for everyday sizes. */
export function figure(value: number | null, digits = 4): string {
  if (value === null || Number.isNaN(value)) return '-';
  if (value === 0) return '0';
  const magnitude = Math.floor(Math.log10(Math.abs(value)));
  if (magnitude >= 9 || magnitude < -6) return value.toPrecision(digits);
  return String(Number(value.toFixed(Math.max(0, digits - 1 - magnitude))));
}

/** A probability: 0.032, and 1.5e-6 where that says nothing any more. */
export const chance = (value: number): string =>
  value > 0 && value < 0.001 ? value.toExponential(1) : String(Number(value.toFixed(3)));
