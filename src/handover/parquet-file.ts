/** A Parquet file written by row groups, so that memory does not grow with the capture; each column may say what it is (its unit). */
import { ByteWriter, ParquetWriter, schemaFromColumnData, type ColumnSource } from 'hyparquet-writer';

export type Cell = number | bigint | string | null;

export interface ColumnDefinition {
  readonly name: string;
  readonly type: 'DOUBLE' | 'INT32' | 'INT64' | 'STRING';
  readonly nullable: boolean;
  /** Written as key and value beside each of the column's chunks. */
  readonly about?: Readonly<Record<string, string>>;
}

export const column = (
  name: string,
  type: ColumnDefinition['type'],
  nullable = false,
  about?: ColumnDefinition['about'],
): ColumnDefinition => ({ name, type, nullable, ...(about ? { about } : {}) });

/** A value as the type of its column wants it. */
export function cellOf(type: ColumnDefinition['type'], value: number | string | null): Cell {
  return type === 'INT64' && typeof value === 'number' ? BigInt(value) : value;
}

export interface ParquetFile {
  /** Writes one row group and gives back the bytes so far not taken. */
  group(cells: readonly Cell[][]): Uint8Array;
  /** Writes the footer and gives back the last bytes. */
  end(): Uint8Array;
}

const pairs = (about: Readonly<Record<string, string>>) =>
  Object.entries(about).map(([key, value]) => ({ key, value }));

/** Bytes since the last call; the writer starts again at the front of its buffer. */
function takeBytes(writer: ByteWriter): Uint8Array {
  const bytes = writer.getBytes().slice();
  writer.index = 0;
  return bytes;
}

export function openParquet(
  { columns, statistics }: { readonly columns: readonly ColumnDefinition[]; readonly statistics: boolean },
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
    kvMetadata: pairs(metadata),
  });
  const tellColumns = (): void => {
    const chunks = parquet.row_groups.at(-1)?.columns ?? [];
    columns.forEach(({ about }, i) => {
      const meta = chunks[i]?.meta_data;
      if (about && meta) meta.key_value_metadata = pairs(about);
    });
  };
  return {
    group(cells) {
      void parquet.write({ columnData: withData(cells), rowGroupSize: Math.max(1, cells[0]?.length ?? 1) });
      tellColumns();
      return takeBytes(writer);
    },
    end() {
      void parquet.finish();
      return takeBytes(writer);
    },
  };
}
