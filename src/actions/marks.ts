/**
 * Mark files: what was done, and when, as people write it down. CSV with the header
 * `start,end,action[,value][,note]` in any column order, or the same as JSON. Every bad row is
 * reported with its line; rows that are right are not lost with it only where none is bad, because a mark
 * that silently disappears would change the statistics.
 */
import { bad, good, type Outcome, type Problem } from '../kit/outcome.ts';
import { parseNumber, parseSmallTable, quoteCell, type SmallRow, type SmallTable } from '../kit/small-table.ts';
import { commonTimeBase, secondsSince, type TimedLine } from '../kit/time-base.ts';
import { straightened } from './drift.ts';
import type { Mark, MarkFile, OffsetFinding } from './types.ts';

const MARKS_HEADER = 'start,end,action,value,note';
const PROBLEMS_MAX = 100;

interface Draft {
  readonly mark: Mark;
  readonly line: number | null;
}
type Checked = Draft | Problem;

const isProblem = (checked: Checked): checked is Problem => 'code' in checked;

interface RawMark {
  readonly startS: number;
  readonly endS: number | null;
  readonly action: string;
  readonly value?: string;
  readonly note?: string;
}

/** Checks one mark whatever file it came from. */
function checkMark(raw: RawMark, place: Problem['place'], line: number | null): Checked {
  const fail = (code: string, message: string, advice: string): Problem => ({
    code,
    message,
    advice,
    ...(place ? { place } : {}),
  });
  if (!Number.isFinite(raw.startS)) {
    return fail(
      'bad-start',
      'the start is not a number of seconds',
      "Write epoch seconds, or seconds from the capture's first frame.",
    );
  }
  if (raw.endS !== null && !Number.isFinite(raw.endS)) {
    return fail(
      'bad-end',
      'the end is not a number of seconds',
      'Leave it empty for an instant, or write seconds like the start.',
    );
  }
  if (raw.endS !== null && raw.endS < raw.startS) {
    return fail(
      'end-before-start',
      `the end (${raw.endS}) lies before the start (${raw.startS})`,
      'Swap them or correct one.',
    );
  }
  if (raw.action === '') {
    return fail('no-action', 'the action has no name', 'Write what was done, such as "brake pressed".');
  }
  const mark: Mark = {
    action: raw.action,
    startS: raw.startS,
    endS: raw.endS,
    ...(raw.value ? { value: raw.value } : {}),
    ...(raw.note ? { note: raw.note } : {}),
  };
  return { mark, line };
}

function finish(checked: readonly Checked[], name: string): Outcome<MarkFile> {
  const [first, ...others] = checked.filter(isProblem);
  if (first) return bad(first, ...others.slice(0, PROBLEMS_MAX - 1));
  const drafts = checked as readonly Draft[];
  const times = drafts.flatMap(({ mark, line }): TimedLine[] =>
    [mark.startS, ...(mark.endS === null ? [] : [mark.endS])].map((timeS) => ({ timeS, line })),
  );
  const base = commonTimeBase(times, name);
  if (typeof base !== 'string') return bad(base);
  const marks = drafts.map(({ mark }) => mark).sort((a, b) => a.startS - b.startS);
  return good({ marks, timeBase: base });
}

type Column = 'start' | 'end' | 'action' | 'value' | 'note';
const COLUMNS: readonly Column[] = ['start', 'end', 'action', 'value', 'note'];

function columnPlaces(table: SmallTable, name: string): Outcome<Record<Column, number>> {
  const header = table.header.map((cell) => cell.toLowerCase());
  const places = Object.fromEntries(COLUMNS.map((column) => [column, header.indexOf(column)])) as Record<
    Column,
    number
  >;
  const missing = (['start', 'action'] as const).filter((column) => places[column] < 0);
  if (missing.length === 0) return good(places);
  return bad({
    code: 'missing-column',
    message: `the header has no column "${missing.join('" and no "')}" (found: ${table.header.join(', ')})`,
    advice: `Begin the file with the line ${MARKS_HEADER}; value and note may be left out.`,
    place: { file: name, line: 1 },
  });
}

function markOfRow(row: SmallRow, places: Record<Column, number>, delimiter: string, name: string): Checked {
  const cell = (column: Column): string => row.cells[places[column]] ?? '';
  const end = cell('end');
  const raw = {
    startS: parseNumber(cell('start'), delimiter),
    endS: end === '' ? null : parseNumber(end, delimiter),
    action: cell('action'),
    value: cell('value'),
    note: cell('note'),
  };
  return checkMark(raw, { file: name, line: row.line }, row.line);
}

function parseMarksTable(text: string, name: string): Outcome<MarkFile> {
  const table = parseSmallTable(text, name, MARKS_HEADER);
  if (!table.ok) return table;
  const places = columnPlaces(table.value, name);
  if (!places.ok) return places;
  const { rows, delimiter } = table.value;
  return finish(
    rows.map((row) => markOfRow(row, places.value, delimiter, name)),
    name,
  );
}

const numberOf = (value: unknown): number => (typeof value === 'number' ? value : Number.NaN);
const textOf = (value: unknown): string => (value === undefined || value === null ? '' : String(value).trim());

function markOfObject(entry: unknown, index: number, name: string): Checked {
  const place = { file: name, path: `[${index}]` };
  if (typeof entry !== 'object' || entry === null) {
    return {
      code: 'not-a-mark',
      message: 'this entry is not an object',
      advice: 'Write {"start": 1.5, "end": null, "action": "..."}.',
      place,
    };
  }
  const { start, startS, end, endS, action, value, note } = entry as Record<string, unknown>;
  const ended = end ?? endS ?? null;
  const raw = {
    startS: numberOf(start ?? startS),
    endS: ended === null ? null : numberOf(ended),
    action: textOf(action),
    value: textOf(value),
    note: textOf(note),
  };
  return checkMark(raw, place, null);
}

function parseMarksJson(text: string, name: string): Outcome<MarkFile> {
  let document: unknown;
  try {
    document = JSON.parse(text);
  } catch (error) {
    return bad({
      code: 'bad-json',
      message: `not valid JSON: ${(error as Error).message}`,
      advice: 'Correct it, or write CSV.',
      place: { file: name },
    });
  }
  const list = Array.isArray(document) ? document : (document as { marks?: unknown } | null)?.marks;
  if (!Array.isArray(list)) {
    return bad({
      code: 'no-marks',
      message: 'there is no list of marks',
      advice: 'Write [{"start": 1.5, "end": null, "action": "..."}, ...].',
      place: { file: name },
    });
  }
  return finish(
    list.map((entry, index) => markOfObject(entry, index, name)),
    name,
  );
}

/** Reads a mark file, CSV or JSON; the name serves messages only. */
export function parseMarks(text: string, name: string): Outcome<MarkFile> {
  return /^\uFEFF?\s*[[{]/.test(text) ? parseMarksJson(text, name) : parseMarksTable(text, name);
}

/** As CSV, which `parseMarks` reads back to the same marks. */
export function printMarks(marks: readonly Mark[]): string {
  const rows = marks.map(({ startS, endS, action, value, note }) =>
    [String(startS), endS === null ? '' : String(endS), action, value ?? '', note ?? ''].map(quoteCell).join(','),
  );
  return [MARKS_HEADER, ...rows, ''].join('\n');
}

/** A mark at other times. */
export const movedMark = <M extends Pick<Mark, 'startS' | 'endS'>>(mark: M, move: (atS: number) => number): M => ({
  ...mark,
  startS: move(mark.startS),
  endS: mark.endS === null ? null : move(mark.endS),
});

/**
 * Marks in seconds from the capture's origin, before any clock offset.
 * @param originText exact decimal seconds of the capture's first frame, as `ClockOrigin.text` holds it.
 */
export function alignMarks(file: MarkFile, originText: string): Mark[] {
  if (file.timeBase === 'capture') return [...file.marks];
  const since = (timeS: number): number => secondsSince(timeS, originText);
  return file.marks.map((mark) => movedMark(mark, since));
}

/** Marks on the capture's clock, in seconds from its origin. @param clock capture time = mark time + offset, straightened where the clock drifts */
export const marksOnCapture = (
  file: MarkFile,
  originText: string,
  { offsetS, drift }: Pick<OffsetFinding, 'offsetS' | 'drift'>,
): Mark[] => {
  const moved = (atS: number): number => (drift ? straightened(atS + offsetS, drift) : atS + offsetS);
  return alignMarks(file, originText).map((mark) => movedMark(mark, moved));
};
