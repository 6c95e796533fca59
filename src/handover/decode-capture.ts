/**
 * A capture's decoded values as a file: CSV, JSON lines or Parquet, long (a row a value) or wide (a row a frame), frames in
 * order of time; or on a common grid of time, a row an instant. Bytes go to a sink as they come.
 */
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, type Control } from '../kit/control.ts';
import { bad, good, type Outcome } from '../kit/outcome.ts';
import type { SignalMap } from '../map/schema.ts';
import { gridCsv, gridJson, gridParquet, layGrid, RULE_WORDS, type Grid } from './decode-grid.ts';
import { planDecoding, type DecodeChoice, type DecodePlan } from './decode-plan.ts';
import type { Resampling, ResampleRule } from './decode-samples.ts';
import { MergedFrames } from './merged-frames.ts';
import { openParquet, type Cell, type ColumnDefinition } from './parquet-file.ts';
import { parquetLong, parquetWide } from './parquet-values.ts';
import { csvLong, csvWide, jsonLong, jsonWide } from './value-writers.ts';

export interface ByteSink {
  write(bytes: Uint8Array): void | Promise<void>;
}

export interface DecodeOptions extends DecodeChoice {
  readonly format: 'csv' | 'jsonl' | 'parquet';
  /** `long`: a row a value (default). `wide`: a row a frame or instant, a column a signal. */
  readonly form?: 'long' | 'wide';
  readonly resample?: Resampling;
}

export interface DecodeSummary {
  readonly rows: number;
  /** Signals decoded. */
  readonly signals: number;
  readonly resampled?: { readonly stepS: number; readonly rule: ResampleRule; readonly words: string };
}

const AT_ONCE = 4096;
const ROWS_PER_GROUP = 50_000;
/** Wide rows of hundreds of columns make smaller groups, for memory's sake. */
const CELLS_PER_GROUP = 6e6;

/** What gives rows: frames in order of time, or instants of a grid. `visit` gets two numbers that mean something to its writer alone. */
interface Course {
  readonly total: number;
  /** Visits at most so many. @returns how many. */
  take(limit: number, visit: (one: number, other: number) => void): number;
}

function courseOf(plan: DecodePlan, grid: Grid | null): Course {
  if (!grid) {
    const merged = new MergedFrames(
      plan.streams.map(({ stream }) => stream),
      plan.window,
    );
    return { total: merged.left, take: (limit, visit) => merged.take(limit, visit) };
  }
  let next = 0;
  return {
    total: grid.instants,
    take(limit, visit) {
      const from = next;
      next = Math.min(grid.instants, from + limit);
      for (let index = from; index < next; index++) visit(grid.instantUs(index), 0);
      return next - from;
    },
  };
}

async function walk(
  course: Course,
  control: Control,
  visit: (one: number, other: number) => void,
  afterSlice: () => Promise<void>,
): Promise<void> {
  let done = 0;
  for (;;) {
    const taken = course.take(AT_ONCE, visit);
    if (taken === 0) return;
    done += taken;
    await afterSlice();
    await checkpoint(control, done / course.total, 'decoding');
  }
}

interface TextRows {
  readonly head: string;
  rows(one: number, other: number, into: string[]): number;
}

function textRows(plan: DecodePlan, grid: Grid | null, { format, form = 'long' }: DecodeOptions): TextRows {
  if (grid) {
    const { head, rows } = format === 'csv' ? gridCsv(grid, form) : gridJson(grid, form);
    return { head, rows: (instantUs, _, into) => rows(instantUs, into) };
  }
  if (format === 'csv') return form === 'wide' ? csvWide(plan) : csvLong(plan);
  return form === 'wide' ? jsonWide(plan) : jsonLong(plan);
}

async function writeText(course: Course, writer: TextRows, sink: ByteSink, control: Control): Promise<number> {
  const encoder = new TextEncoder();
  let rows = 0;
  let pending: string[] = [];
  if (writer.head) await sink.write(encoder.encode(writer.head));
  const visit = (one: number, other: number): void => {
    rows += writer.rows(one, other, pending);
  };
  await walk(course, control, visit, async () => {
    await sink.write(encoder.encode(pending.join('')));
    pending = [];
  });
  return rows;
}

interface CellRows {
  readonly columns: readonly ColumnDefinition[];
  readonly statistics: boolean;
  empty(rows: number): Cell[][];
  rows(one: number, other: number, cells: readonly Cell[][]): number;
}

function cellRows(plan: DecodePlan, grid: Grid | null, { form = 'long' }: DecodeOptions): CellRows {
  if (!grid) return form === 'wide' ? parquetWide(plan) : parquetLong(plan);
  const { columns, rows } = gridParquet(grid, form);
  return {
    columns,
    statistics: form === 'long',
    empty: () => columns.map(() => []),
    rows: (instantUs, _, cells) => rows(instantUs, cells),
  };
}

async function writeParquet(
  course: Course,
  writer: CellRows,
  metadata: Readonly<Record<string, string>>,
  sink: ByteSink,
  control: Control,
): Promise<number> {
  const file = openParquet(writer, metadata);
  const groupRows = Math.max(1, Math.min(ROWS_PER_GROUP, Math.floor(CELLS_PER_GROUP / writer.columns.length)));
  const empty = () => writer.empty(groupRows + AT_ONCE);
  let [cells, rows] = [empty(), 0];
  const flush = async (least: number): Promise<void> => {
    if ((cells[0]?.length ?? 0) < least) return;
    await sink.write(file.group(cells));
    cells = empty();
  };
  const visit = (one: number, other: number): void => {
    rows += writer.rows(one, other, cells);
  };
  await walk(course, control, visit, () => flush(groupRows));
  await flush(1);
  await sink.write(file.end());
  return rows;
}

type Resampled = NonNullable<DecodeSummary['resampled']>;

const resampledBy = ({ stepUs, rule }: Resampling): Resampled => ({
  stepS: stepUs / 1e6,
  rule,
  words: `at whole multiples of ${stepUs / 1e6} s: ${RULE_WORDS[rule]}`,
});

/** What a reader of the file needs beside the columns. */
function metadataOf(
  table: FrameTable,
  map: SignalMap,
  plan: DecodePlan,
  grid: Grid | null,
  resampled: Resampled | undefined,
): Record<string, string> {
  const byName = <T>(of: (index: number) => T): string =>
    JSON.stringify(Object.fromEntries(plan.columns.map(({ name }, index) => [name, of(index)])));
  return {
    'loomscribe.part': map.part.title,
    'loomscribe.origin': JSON.stringify(table.origin),
    'loomscribe.time': 'time_s is seconds since the origin',
    'loomscribe.units': byName((index) => plan.columns[index]?.unit),
    ...(grid && resampled
      ? {
          'loomscribe.resampled': JSON.stringify(resampled),
          'loomscribe.reach_s': byName((index) => (grid.columns[index]?.sampler.reachUs ?? 0) / 1e6),
        }
      : {}),
  };
}

/** Decodes a capture by a map into a file. Linear in frames; fails where the map meets nothing in the capture. */
export async function decodeCapture(
  table: FrameTable,
  map: SignalMap,
  options: DecodeOptions,
  sink: ByteSink,
  control: Control = {},
): Promise<Outcome<DecodeSummary>> {
  const planned = planDecoding(table, map, options);
  if (!planned.ok) return planned;
  const plan = planned.value;
  const { resample } = options;
  if (resample && table.origin.kind === 'none')
    return bad({
      code: 'no-stamps',
      message: 'the capture has no time stamps, so there is no grid of time to lay over it.',
    });
  const laid = resample ? layGrid(plan, resample) : null;
  if (laid && !laid.ok) return laid;
  const grid = laid?.value ?? null;
  const course = courseOf(plan, grid);
  if (course.total === 0)
    return bad({
      code: 'nothing-in-window',
      message: `none of the map's frames lies in that time${grid ? ', or no instant of the grid' : ''}.`,
      advice: `The capture lasts ${(table.endUs / 1e6).toFixed(3)} s from its first frame.`,
    });
  const resampled = resample && resampledBy(resample);
  const rows =
    options.format === 'parquet'
      ? await writeParquet(
          course,
          cellRows(plan, grid, options),
          metadataOf(table, map, plan, grid, resampled),
          sink,
          control,
        )
      : await writeText(course, textRows(plan, grid, options), sink, control);
  return good({ rows, signals: plan.columns.length, ...(resampled ? { resampled } : {}) }, plan.warnings);
}
