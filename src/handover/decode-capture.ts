/**
 * A capture's decoded values as a file: CSV, JSON lines or Parquet, long (a row a value) or wide (a row a frame), frames in
 * order of time. Bytes go to a sink as they come.
 */
import type { FrameTable } from '../frames/table.ts';
import { checkpoint, type Control } from '../kit/control.ts';
import { good, type Outcome } from '../kit/outcome.ts';
import type { SignalMap } from '../map/schema.ts';
import { MergedFrames, planDecoding, type BusChoice, type DecodePlan } from './decode-plan.ts';
import { openParquet, parquetLong, parquetWide } from './parquet-values.ts';
import { csvLong, csvWide, jsonLong, jsonWide, type TextWriter } from './value-writers.ts';

export interface ByteSink {
  write(bytes: Uint8Array): void | Promise<void>;
}

export interface DecodeOptions extends BusChoice {
  readonly format: 'csv' | 'jsonl' | 'parquet';
  /** `long`: a row a value (default). `wide`: a row a frame, a column a signal. */
  readonly form?: 'long' | 'wide';
}

export interface DecodeSummary {
  readonly rows: number;
  /** Signals decoded. */
  readonly signals: number;
}

const FRAMES_AT_ONCE = 4096;
const ROWS_PER_GROUP = 50_000;
/** Wide rows of hundreds of columns make smaller groups, for memory's sake. */
const CELLS_PER_GROUP = 6e6;

function textWriter(plan: DecodePlan, { format, form }: DecodeOptions): TextWriter {
  if (format === 'csv') return form === 'wide' ? csvWide(plan) : csvLong(plan);
  return form === 'wide' ? jsonWide(plan) : jsonLong(plan);
}

/** Visits all frames of the plan in order of time, a slice at a time. */
async function walk(
  plan: DecodePlan,
  control: Control,
  visit: (index: number, row: number) => void,
  afterSlice: () => Promise<void>,
): Promise<void> {
  const merged = new MergedFrames(plan.streams.map(({ stream }) => stream));
  const total = plan.streams.reduce((sum, { stream }) => sum + stream.count, 0);
  let done = 0;
  for (;;) {
    const taken = merged.take(FRAMES_AT_ONCE, visit);
    if (taken === 0) return;
    done += taken;
    await afterSlice();
    await checkpoint(control, done / total, 'decoding');
  }
}

async function writeText(plan: DecodePlan, options: DecodeOptions, sink: ByteSink, control: Control): Promise<number> {
  const writer = textWriter(plan, options);
  const encoder = new TextEncoder();
  let rows = 0;
  let pending: string[] = [];
  if (writer.head) await sink.write(encoder.encode(writer.head));
  const visit = (index: number, row: number): void => {
    rows += writer.rows(index, row, pending);
  };
  await walk(plan, control, visit, async () => {
    await sink.write(encoder.encode(pending.join('')));
    pending = [];
  });
  return rows;
}

/** What a reader of the file needs beside the columns. */
function metadataOf(table: FrameTable, map: SignalMap, plan: DecodePlan): Record<string, string> {
  return {
    'loomscribe.part': map.part.title,
    'loomscribe.origin': JSON.stringify(table.origin),
    'loomscribe.time': 'time_s is seconds since the origin',
    'loomscribe.units': JSON.stringify(Object.fromEntries(plan.columns.map(({ name, unit }) => [name, unit]))),
  };
}

async function writeParquet(
  plan: DecodePlan,
  form: DecodeOptions['form'],
  metadata: Readonly<Record<string, string>>,
  sink: ByteSink,
  control: Control,
): Promise<number> {
  const writer = form === 'wide' ? parquetWide(plan) : parquetLong(plan);
  const file = openParquet(writer, metadata);
  const groupRows = Math.max(1, Math.min(ROWS_PER_GROUP, Math.floor(CELLS_PER_GROUP / writer.columns.length)));
  const empty = () => writer.empty(groupRows + FRAMES_AT_ONCE);
  let [cells, rows] = [empty(), 0];
  const flush = async (least: number): Promise<void> => {
    if ((cells[0]?.length ?? 0) < least) return;
    await sink.write(file.group(cells));
    cells = empty();
  };
  const visit = (index: number, row: number): void => {
    rows += writer.rows(index, row, cells);
  };
  await walk(plan, control, visit, () => flush(groupRows));
  await flush(1);
  await sink.write(file.end());
  return rows;
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
  const rows =
    options.format === 'parquet'
      ? await writeParquet(plan, options.form, metadataOf(table, map, plan), sink, control)
      : await writeText(plan, options, sink, control);
  return good({ rows, signals: plan.columns.length }, plan.warnings);
}
