/**
 * Reference files: known quantities over time, as meters, satellite receivers and people write them. CSV with the
 * header `time,NAME [UNIT],...`; a gap is an empty cell. A cell that is not a number is reported with its
 * line and column, never skipped.
 */
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { parseNumber, parseSmallTable, quoteCell, type SmallTable } from '../kit/small-table.ts';
import { commonTimeBase, secondsSince } from '../kit/time-base.ts';
import type { ReferenceFile, ReferenceSeries } from './types.ts';

const REFERENCE_HEADER = 'time,NAME [UNIT],...';
const PROBLEMS_MAX = 100;
/** What loggers write where they have no value. */
const GAP = /^(|nan|null|n\/a|-)$/i;

/** "pack voltage [V]" -> name and unit; the unit may be missing. */
export function parseQuantity(heading: string): { name: string; unit: string } {
  const found = /^(.*?)\s*\[([^\]]*)\]\s*$/.exec(heading);
  return found
    ? { name: (found[1] as string).trim(), unit: (found[2] as string).trim() }
    : { name: heading.trim(), unit: '' };
}

interface Reading {
  readonly timeS: number;
  readonly value: number;
}

interface Draft {
  readonly problems: Problem[];
  readonly times: { timeS: number; line: number }[];
  readonly readings: Reading[][];
}

function readRow(table: SmallTable, index: number, name: string, draft: Draft): void {
  const { line, cells } = table.rows[index] as SmallTable['rows'][number];
  const timeS = parseNumber(cells[0] ?? '', table.delimiter);
  if (!Number.isFinite(timeS)) {
    const message = `"${cells[0] ?? ''}" is not a time in seconds`;
    draft.problems.push({
      code: 'bad-time',
      message,
      advice: "Write epoch seconds, or seconds from the capture's first frame.",
      place: { file: name, line, column: 1 },
    });
    return;
  }
  draft.times.push({ timeS, line });
  draft.readings.forEach((readings, quantity) => {
    const cell = cells[quantity + 1] ?? '';
    if (GAP.test(cell)) return;
    const value = parseNumber(cell, table.delimiter);
    if (Number.isFinite(value)) readings.push({ timeS, value });
    else
      draft.problems.push({
        code: 'bad-value',
        message: `"${cell}" is not a number`,
        advice: 'Write a number, or leave the cell empty for a gap.',
        place: { file: name, line, column: quantity + 2 },
      });
  });
}

function seriesOf(heading: string, readings: readonly Reading[]): ReferenceSeries {
  const ascending = [...readings].sort((a, b) => a.timeS - b.timeS);
  return {
    ...parseQuantity(heading),
    timeS: Float64Array.from(ascending, ({ timeS }) => timeS),
    value: Float64Array.from(ascending, ({ value }) => value),
  };
}

function headerProblem(table: SmallTable, name: string): Problem | null {
  const [time, ...quantities] = table.header;
  const place = { file: name, line: 1 };
  const advice = `Begin the file with the line ${REFERENCE_HEADER}, such as time,pack voltage [V].`;
  if ((time as string).toLowerCase() !== 'time')
    return { code: 'no-time-column', message: `the first column is "${time}", not "time"`, advice, place };
  if (quantities.length === 0)
    return { code: 'no-quantity', message: 'there is no column beside the time', advice, place };
  if (quantities.some((heading) => heading === ''))
    return { code: 'unnamed-quantity', message: 'a column has no name', advice, place };
  return null;
}

/** Reads a reference file; the name serves messages only. */
export function parseReference(text: string, name: string): Outcome<ReferenceFile> {
  const table = parseSmallTable(text, name, REFERENCE_HEADER);
  if (!table.ok) return table;
  const wrong = headerProblem(table.value, name);
  if (wrong) return bad(wrong);
  const headings = table.value.header.slice(1);
  const draft: Draft = { problems: [], times: [], readings: headings.map(() => []) };
  table.value.rows.forEach((_row, index) => readRow(table.value, index, name, draft));
  const [first, ...others] = draft.problems;
  if (first) return bad(first, ...others.slice(0, PROBLEMS_MAX - 1));
  const base = commonTimeBase(draft.times, name);
  if (typeof base !== 'string') return bad(base);
  const series = headings.map((heading, quantity) => seriesOf(heading, draft.readings[quantity] as Reading[]));
  return good({ series, timeBase: base }, emptySeriesWarnings(series, name));
}

function emptySeriesWarnings(series: readonly ReferenceSeries[], name: string): Problem[] {
  return series
    .filter(({ value }) => value.length === 0)
    .map(({ name: quantity }) => ({
      code: 'no-readings',
      message: `"${quantity}" has no readings`,
      place: { file: name },
    }));
}

/** As CSV, which `parseReference` reads back to the same series. */
export function printReference(file: ReferenceFile): string {
  const times = [...new Set(file.series.flatMap(({ timeS }) => [...timeS]))].sort((a, b) => a - b);
  const columns = file.series.map(
    ({ timeS, value }) => new Map(Array.from(timeS, (time, i) => [time, value[i] as number])),
  );
  const header = ['time', ...file.series.map(({ name, unit }) => quoteCell(unit ? `${name} [${unit}]` : name))].join(
    ',',
  );
  const rows = times.map((time) =>
    [String(time), ...columns.map((column) => String(column.get(time) ?? ''))].join(','),
  );
  return [header, ...rows, ''].join('\n');
}

/** Series in seconds from the capture's origin, before any clock offset; origin as in `ClockOrigin.text`. */
export function alignReference(file: ReferenceFile, originText: string): ReferenceSeries[] {
  if (file.timeBase === 'capture') return [...file.series];
  return file.series.map((series) => ({
    ...series,
    timeS: series.timeS.map((timeS) => secondsSince(timeS, originText)),
  }));
}
