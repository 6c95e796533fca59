/**
 * Every frame of simulated vehicles of four makers, decoded into each kind of file and held against the slow decoder. The vehicles
 * give places, codings, pages and lengths; scales, tables, states and codes for "no value" are drawn.
 */
import { parquetMetadata, parquetReadObjects } from 'hyparquet';
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import type { FrameTable, Stream } from '../../src/frames/table.ts';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { decodeCapture, type DecodeOptions } from '../../src/handover/decode-capture.ts';
import { createRandom } from '../../src/kit/random.ts';
import { frameKey } from '../../src/map/identifiers.ts';
import type { MapSignal, SignalMap } from '../../src/map/schema.ts';
import { mapOfKnown } from '../support/map-of-known.ts';
import { slowValues, type SlowValue } from '../support/slow-values.ts';
import { driveOf, type Case } from '../truth/fields-conditions.ts';
import { seedsFor } from '../truth/support/vehicles.ts';

/** LOOMSCRIBE_WHOLE takes all frames of all of these, not the first of each stream. */
const MOST = process.env['LOOMSCRIBE_WHOLE'] ? Infinity : 25;
const CASES: readonly Case[] = [
  { maker: 'demo', condition: 'short' },
  { maker: 'demo', condition: 'fd' },
  { maker: 'other', condition: 'short' },
  { maker: 'stranger', condition: 'short' },
  { maker: 'stranger', condition: 'fd' },
  { maker: 'veteran', condition: 'short' },
  { maker: 'veteran', condition: 'paged' },
];

interface SlowRow extends SlowValue {
  readonly timeUs: number;
  readonly frame: string;
}
type Row = Record<string, unknown>;

function framesOf(streams: readonly Stream[]): PlainFrame[] {
  const rows = streams.flatMap((stream) =>
    Array.from({ length: Math.min(stream.count, MOST) }, (_, row) => {
      const length = stream.lengths ? (stream.lengths[row] as number) : stream.length;
      const data = stream.payload.slice(row * stream.stride, row * stream.stride + length);
      const { bus, id, extended } = stream;
      return { timeUs: stream.timeUs[row] as number, bus, id, extended, fdFlags: stream.fdFlags?.[row] ?? 0, data };
    }),
  );
  return rows.sort((a, b) => a.timeUs - b.timeUs);
}

function slowRows(frames: readonly PlainFrame[], map: SignalMap): { frames: number; rows: SlowRow[] } {
  const byKey = new Map(map.frames.map((frame) => [frameKey(frame), frame]));
  let n = 0;
  const start = frames[0]?.timeUs ?? 0;
  const rows = frames.flatMap(({ timeUs, bus, id, extended = false, data }) => {
    const frame = byKey.get(frameKey({ bus, id: `0x${id.toString(16)}`, extended }));
    if (!frame || frame.signals.length === 0) return [];
    n++;
    return slowValues(frame, Uint8Array.from(data)).map((value) => ({
      ...value,
      timeUs: timeUs - start,
      frame: frame.name,
    }));
  });
  return { frames: n, rows };
}

async function fileOf(table: FrameTable, map: SignalMap, options: DecodeOptions): Promise<Buffer> {
  const parts: Uint8Array[] = [];
  const outcome = await decodeCapture(table, map, options, { write: (bytes) => void parts.push(bytes.slice()) });
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return Buffer.concat(parts);
}

const csvRows = (bytes: Buffer): Row[] => Papa.parse<Row>(bytes.toString().trimEnd(), { header: true }).data;
const jsonRows = (bytes: Buffer): Row[] =>
  bytes
    .toString()
    .trimEnd()
    .split('\n')
    .map((line) => JSON.parse(line) as Row);
const parquetRows = (bytes: Buffer): Promise<Row[]> => parquetReadObjects({ file: Uint8Array.from(bytes).buffer });

/** Equal, or apart by no more than what a product and a sum in double precision leave. */
function sameNumber(got: unknown, { physical: wanted, signal }: SlowValue): boolean {
  if (!Number.isFinite(wanted)) return got === null || got === undefined || got === '';
  const value = got === null || got === '' || got === undefined ? Number.NaN : Number(got);
  const passed = [wanted, signal.offset, ...(signal.table ?? []).map(([, y]) => y)].map(Math.abs);
  return Math.abs(value - wanted) <= 2 ** -49 * Math.max(...passed);
}

const orNull = (value: unknown): unknown => (value === undefined || value === '' ? null : value);
/** As a spreadsheet must get it: no control characters but line breaks and tabs, nothing that starts a formula. */
function harmless(text: string | null): string | null {
  const plain = text?.replace(/(?![\t\n\r])\p{Cc}/gu, (sign) => (sign < '\u0080' ? '\u00b7' : sign)) ?? null;
  return plain && /^(\s*[=+\-@]|[\t\r\n])/.test(plain) ? `'${plain}` : plain;
}
const written = (raw: bigint): string => (raw < 2n ** 53n ? String(raw) : `0x${raw.toString(16).toUpperCase()}`);
const rawOf = (row: Row): string => String((orNull(row['raw']) ?? orNull(row['raw_hex'])) as string);

function longTroubles(
  rows: readonly Row[],
  slow: readonly SlowRow[],
  asCell: (text: string | null) => string | null,
): string[] {
  if (rows.length !== slow.length) return [`${rows.length} rows, not ${slow.length}`];
  return slow.flatMap((wanted, i) => {
    const row = rows[i] as Row;
    const agrees =
      Math.abs(Number(row['time_s']) - wanted.timeUs / 1e6) < 1e-9 &&
      row['frame'] === wanted.frame &&
      row['signal'] === wanted.signal.name &&
      (row['unit'] ?? '') === wanted.signal.unit &&
      sameNumber(row['value'], wanted) &&
      rawOf(row) === written(wanted.raw) &&
      orNull(row['text']) === orNull(asCell(wanted.text)) &&
      orNull(row['invalid']) === wanted.invalid;
    return agrees
      ? []
      : [
          `row ${i}: ${JSON.stringify(row, (_, v: unknown) => (typeof v === 'bigint' ? String(v) : v))} not ${written(wanted.raw)} ${wanted.physical} ${wanted.text} ${wanted.invalid} ${JSON.stringify(wanted.signal)}`,
        ];
  });
}

/** The wide form has a row a frame, and a cell for each value that the frame gave; a column with named states shows texts. */
function wideTroubles(rows: readonly Row[], slow: readonly SlowRow[], map: SignalMap): string[] {
  const isText = ({ coding, states }: MapSignal): boolean => coding === 'text' || Object.keys(states).length > 0;
  const withSignals = new Set(map.frames.filter(({ signals }) => signals.length > 0).map(({ name }) => name));
  let at = 0;
  const troubles = rows.flatMap((row, i) => {
    const wanted = new Map<string, SlowRow>();
    const here = (value: SlowRow | undefined): boolean =>
      value !== undefined &&
      value.frame === row['frame'] &&
      Math.abs(value.timeUs / 1e6 - Number(row['time_s'])) < 1e-9;
    while (here(slow[at])) {
      const value = slow[at] as SlowRow;
      if (wanted.has(value.signal.name)) break;
      wanted.set(value.signal.name, value);
      at++;
    }
    const cells = Object.entries(row).slice(4);
    return cells.flatMap(([name, cell]) => {
      const value = wanted.get(name.slice(String(row['frame']).length + 1));
      if (!value || !name.startsWith(`${String(row['frame'])}.`))
        return orNull(cell) === null ? [] : [`row ${i}: ${name}`];
      if (!isText(value.signal)) return sameNumber(cell, value) ? [] : [`row ${i}: ${name} ${String(cell)}`];
      if (value.text !== null)
        return cell === value.text || (value.text === '' && !cell) ? [] : [`row ${i}: ${name} ${String(cell)}`];
      return sameNumber(orNull(cell), value) ? [] : [`row ${i}: ${name} ${String(cell)}`];
    });
  });
  return at === slow.length && rows.every((row) => withSignals.has(row['frame'] as string))
    ? troubles
    : [`${at} of ${slow.length} values met`, ...troubles];
}

/** Types and units of the wide form's columns, as the footer has them. */
function footerTroubles(bytes: Buffer, map: SignalMap): string[] {
  const { row_groups } = parquetMetadata(Uint8Array.from(bytes).buffer);
  const units = new Map(
    row_groups.flatMap(({ columns }) =>
      columns.map(({ meta_data }) => [
        meta_data?.path_in_schema[0],
        meta_data?.key_value_metadata?.find(({ key }) => key === 'unit')?.value,
      ]),
    ) as [string, string | undefined][],
  );
  return map.frames.flatMap(({ name, signals }) =>
    signals.flatMap((signal) =>
      units.get(`${name}.${signal.name}`) === signal.unit
        ? []
        : [`${name}.${signal.name} [${units.get(`${name}.${signal.name}`) ?? ''}] not [${signal.unit}]`],
    ),
  );
}

describe('every frame agrees with the slow decoder', () => {
  for (const each of CASES)
    it(`${each.maker} ${each.condition}`, { timeout: 300_000 }, async () => {
      const [seed] = seedsFor(`decode ${each.maker} ${each.condition}`, 1).seeds as [number];
      const drive = driveOf(each, seed);
      const map = mapOfKnown(drive, createRandom(seed).fork('map'));
      const plain = framesOf(drive.streams.map(({ stream }) => stream));
      const table = buildTable(plain);
      const { rows: slow, frames } = slowRows(plain, map);
      if (MOST === Infinity)
        console.log(`${each.maker} ${each.condition} seed ${seed}: ${frames} frames, ${slow.length} values`);
      expect(slow.length).toBeGreaterThan(500);
      const csv = longTroubles(csvRows(await fileOf(table, map, { format: 'csv' })), slow, harmless);
      expect(csv.slice(0, 3)).toEqual([]);
      const json = longTroubles(jsonRows(await fileOf(table, map, { format: 'jsonl' })), slow, (text) => text);
      expect(json.slice(0, 3)).toEqual([]);
      const parquet = longTroubles(
        await parquetRows(await fileOf(table, map, { format: 'parquet' })),
        slow,
        (text) => text,
      );
      expect(parquet.slice(0, 3)).toEqual([]);
      const bytes = await fileOf(table, map, { format: 'parquet', form: 'wide' });
      expect(wideTroubles(await parquetRows(bytes), slow, map).slice(0, 3)).toEqual([]);
      expect(footerTroubles(bytes, map)).toEqual([]);
    });
});
