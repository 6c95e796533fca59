/** Decoded values as rows of Parquet columns: whole numbers as integers, units beside each column. */
import type { CompiledSignal } from '../map/decode.ts';
import type { DecodePlan, PlannedStream, WideColumn } from './decode-plan.ts';
import { cellOf, column, type Cell, type ColumnDefinition } from './parquet-file.ts';
import { eachSignal, valueAt, wideValue } from './value-writers.ts';

export interface RowGroupWriter {
  readonly columns: readonly ColumnDefinition[];
  /** Whether each group carries the least and greatest of every column. */
  readonly statistics: boolean;
  /** Room for the cells of a group of at most `rows` rows; how many it holds is the length of the first column. */
  empty(rows: number): Cell[][];
  /** Adds the rows of one frame to `cells`, one list a column. @returns rows added. */
  rows(index: number, row: number, cells: readonly Cell[][]): number;
}

/** Type and description of a signal's own column. */
export function signalColumn({ name, unit, type, whole, signal, frame }: WideColumn): ColumnDefinition {
  const stored = type === 'text' ? 'STRING' : whole === null ? 'DOUBLE' : `INT${whole}`;
  const about = { unit, bus: frame.bus, id: frame.id, frame: frame.name, signal: signal.signal.name };
  return column(name, stored as ColumnDefinition['type'], true, about);
}

export function parquetLong(plan: DecodePlan): RowGroupWriter {
  const columns = [
    column('time_s', 'DOUBLE', false, { unit: 's' }),
    column('bus', 'STRING'),
    column('id', 'STRING'),
    column('frame', 'STRING'),
    column('signal', 'STRING'),
    column('value', 'DOUBLE', true),
    column('unit', 'STRING'),
    column('text', 'STRING', true),
    column('raw', 'INT64', true),
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
          typeof raw === 'number' ? BigInt(raw) : null,
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
    column('time_s', 'DOUBLE', false, { unit: 's' }),
    column('bus', 'STRING'),
    column('id', 'STRING'),
    column('frame', 'STRING'),
  ];
  const columns = plan.columns.map(signalColumn);
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
        const value = wideValue(compiled, type, valueAt(compiled, planned.stream, offset));
        (cells[fixed.length + at] as Cell[])[last] = cellOf(columns[at]?.type ?? 'DOUBLE', value);
      });
      return 1;
    },
  };
}
