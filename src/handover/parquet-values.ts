/**
 * Decoded values as Parquet: typed columns, units and the capture's origin in the file's metadata. Written by row groups,
 * so that memory does not grow with the capture.
 */
import { ByteWriter, ParquetWriter, schemaFromColumnData, type ColumnSource } from 'hyparquet-writer';
import type { CompiledSignal } from '../map/decode.ts';
import type { DecodePlan, PlannedStream } from './decode-plan.ts';
import { eachSignal, valueAt, wideValue } from './value-writers.ts';

type Cell = number | string | null;
interface ColumnDefinition {
  readonly name: string;
  readonly type: 'DOUBLE' | 'STRING';
  readonly nullable: boolean;
}

export interface RowGroupWriter {
  readonly columns: readonly ColumnDefinition[];
  /** Whether each group carries the least and greatest of every column. */
  readonly statistics: boolean;
  /** Room for the cells of a group of at most `rows` rows; how many it holds is the length of the first column. */
  empty(rows: number): Cell[][];
  /** Adds the rows of one frame to `cells`, one list a column. @returns rows added. */
  rows(index: number, row: number, cells: readonly Cell[][]): number;
}

const column = (name: string, type: ColumnDefinition['type'], nullable = false): ColumnDefinition => ({
  name,
  type,
  nullable,
});

export function parquetLong(plan: DecodePlan): RowGroupWriter {
  const columns = [
    column('time_s', 'DOUBLE'),
    column('bus', 'STRING'),
    column('id', 'STRING'),
    column('frame', 'STRING'),
    column('signal', 'STRING'),
    column('value', 'DOUBLE', true),
    column('unit', 'STRING'),
    column('text', 'STRING', true),
    column('raw', 'DOUBLE', true),
    column('raw_hex', 'STRING', true),
    column('invalid', 'STRING', true),
  ];
  return {
    columns,
    statistics: true,
    empty: () => columns.map(() => []),
    rows(index, row, cells) {
      const planned = plan.streams[index] as PlannedStream;
      const { frame } = planned.compiled;
      let added = 0;
      eachSignal(planned, row, (i, offset) => {
        const compiled = planned.compiled.signals[i] as CompiledSignal;
        const { physical, text, raw, invalid } = valueAt(compiled, planned.stream, offset);
        const values: Cell[] = [
          (planned.stream.timeUs[row] as number) / 1e6,
          frame.bus,
          frame.id,
          frame.name,
          compiled.signal.name,
          Number.isFinite(physical) ? physical : null,
          compiled.signal.unit,
          text,
          typeof raw === 'number' ? raw : null,
          typeof raw === 'string' ? raw : null,
          invalid,
        ];
        values.forEach((value, c) => (cells[c] as Cell[]).push(value));
        added++;
      });
      return added;
    },
  };
}

/**
 * Most cells of a wide row are empty, so the columns of signals start as nulls and only what is there is written. No
 * statistics: over hundreds of columns they take a third of the time, and time order makes them say little.
 */
export function parquetWide(plan: DecodePlan): RowGroupWriter {
  const fixed = [
    column('time_s', 'DOUBLE'),
    column('bus', 'STRING'),
    column('id', 'STRING'),
    column('frame', 'STRING'),
  ];
  const columns = plan.columns.map(({ name, type }) => column(name, type === 'number' ? 'DOUBLE' : 'STRING', true));
  return {
    columns: [...fixed, ...columns],
    statistics: false,
    empty: (rows) => [...fixed.map(() => []), ...columns.map(() => new Array<Cell>(rows).fill(null))],
    rows(index, row, cells) {
      const planned = plan.streams[index] as PlannedStream;
      const { frame } = planned.compiled;
      const front: Cell[] = [(planned.stream.timeUs[row] as number) / 1e6, frame.bus, frame.id, frame.name];
      front.forEach((value, c) => (cells[c] as Cell[]).push(value));
      const last = (cells[0] as Cell[]).length - 1;
      eachSignal(planned, row, (i, offset) => {
        const compiled = planned.compiled.signals[i] as CompiledSignal;
        const at = planned.columns[i] as number;
        const type = plan.columns[at]?.type ?? 'number';
        (cells[fixed.length + at] as Cell[])[last] = wideValue(
          compiled,
          type,
          valueAt(compiled, planned.stream, offset),
        );
      });
      return 1;
    },
  };
}

export interface ParquetFile {
  /** Writes one row group and gives back the bytes so far not taken. */
  group(cells: readonly Cell[][]): Uint8Array;
  /** Writes the footer and gives back the last bytes. */
  end(): Uint8Array;
}

/** Bytes since the last call; the writer starts again at the front of its buffer. */
function takeBytes(writer: ByteWriter): Uint8Array {
  const bytes = writer.getBytes().slice();
  writer.index = 0;
  return bytes;
}

export function openParquet(
  { columns, statistics }: Pick<RowGroupWriter, 'columns' | 'statistics'>,
  metadata: Readonly<Record<string, string>>,
): ParquetFile {
  const writer = new ByteWriter(1 << 20);
  const withData = (cells: readonly Cell[][] | null): ColumnSource[] => {
    const rows = cells?.[0]?.length ?? 0;
    for (const column of cells ?? []) column.length = rows;
    return columns.map(({ name, type, nullable }, i) => ({ name, type, nullable, data: cells?.[i] ?? [] }));
  };
  const parquet = new ParquetWriter({
    writer,
    schema: schemaFromColumnData({ columnData: withData(null) }),
    createdBy: 'loomscribe',
    statistics,
    kvMetadata: Object.entries(metadata).map(([key, value]) => ({ key, value })),
  });
  return {
    group(cells) {
      void parquet.write({ columnData: withData(cells), rowGroupSize: Math.max(1, cells[0]?.length ?? 1) });
      return takeBytes(writer);
    },
    end() {
      void parquet.finish();
      return takeBytes(writer);
    },
  };
}
