import { parquetMetadata, parquetReadObjects } from 'hyparquet';
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { decodeCapture, type DecodeOptions } from '../../src/handover/decode-capture.ts';
import { createRandom } from '../../src/kit/random.ts';
import type { SignalMap } from '../../src/map/schema.ts';
import { aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';
import { randomPayload } from '../support/random-frames.ts';
import { slowPhysical } from '../support/slow-codec.ts';

const motor = aFrame({
  id: '0x100',
  name: 'motor',
  length: 4,
  signals: [
    aSignal({
      name: 'speed',
      lsb: { byte: 1, bit: 0 },
      length: 16,
      order: 'big',
      coding: 'signed',
      scale: 0.1,
      unit: 'rpm',
    }),
    aSignal({
      name: 'gear',
      lsb: { byte: 2, bit: 0 },
      length: 4,
      kind: 'states',
      states: { '0': 'neutral', '1': 'ahead' },
    }),
    aSignal({
      name: 'heat',
      lsb: { byte: 3, bit: 0 },
      length: 8,
      offset: -40,
      unit: 'C',
      invalid: [{ from: 255, to: 255, meaning: 'no data' }],
    }),
  ],
});
const pack = aFrame({
  id: '0x101',
  name: 'pack',
  length: 8,
  selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 8 })],
  signals: [
    aSignal({ name: 'cell_1', lsb: { byte: 1, bit: 0 }, length: 16, scale: 0.001, unit: 'V', when: { page: [1] } }),
    aSignal({ name: 'cell_2', lsb: { byte: 1, bit: 0 }, length: 16, scale: 0.001, unit: 'V', when: { page: [2] } }),
    aSignal({ name: 'serial', lsb: { byte: 3, bit: 0 }, length: 16, coding: 'text', kind: 'text' }),
  ],
});
const map = aMap([motor, pack], { requires: ['when'] });
const capture = buildTable([
  { timeUs: 0, bus: 'can0', id: 0x100, data: [0x00, 0x64, 0x01, 0x7b] },
  { timeUs: 1500, bus: 'can0', id: 0x101, data: [1, 0x10, 0x0e, 0x41, 0x42, 0, 0, 0] },
  { timeUs: 1500, bus: 'can0', id: 0x100, data: [0xff, 0xff, 0x07, 0xff] },
  { timeUs: 1600, bus: 'can0', id: 0x100, data: [0x00, 0x00] },
  { timeUs: 1700, bus: 'can0', id: 0x101, direction: 'sent', data: [2, 0x10, 0x0e, 0x41, 0x42, 0, 0, 0] },
]);

async function decoded(options: DecodeOptions, of: SignalMap = map, table = capture) {
  const parts: Uint8Array[] = [];
  const outcome = await decodeCapture(table, of, options, { write: (bytes) => void parts.push(bytes.slice()) });
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return { ...outcome.value, warnings: outcome.warnings, bytes: Buffer.concat(parts) };
}

describe('CSV', () => {
  it('gives a row a value in the long form, in order of time and arrival', async () => {
    const { bytes, rows, signals } = await decoded({ format: 'csv' });
    expect(bytes.toString()).toBe(
      [
        'time_s,bus,id,frame,signal,value,unit,text,raw,invalid',
        '0.000000,can0,0x100,motor,speed,10,rpm,,100,',
        '0.000000,can0,0x100,motor,gear,1,,ahead,1,',
        '0.000000,can0,0x100,motor,heat,83,C,,123,',
        '0.001500,can0,0x101,pack,cell_1,3.6,V,,3600,',
        '0.001500,can0,0x101,pack,serial,,,AB,16961,',
        '0.001500,can0,0x100,motor,speed,-0.1,rpm,,65535,',
        '0.001500,can0,0x100,motor,gear,7,,,7,',
        '0.001500,can0,0x100,motor,heat,,C,,255,no data',
        '0.001600,can0,0x100,motor,speed,0,rpm,,0,',
        '',
      ].join('\r\n'),
    );
    expect({ rows, signals }).toEqual({ rows: 9, signals: 6 });
  });

  it('gives a row a frame in the wide form, units in the heading', async () => {
    const { bytes, rows } = await decoded({ format: 'csv', form: 'wide' });
    const lines = bytes.toString().split('\r\n');
    expect(lines[0]).toBe(
      'time_s,bus,id,frame,motor.speed [rpm],motor.gear,motor.heat [C],pack.cell_1 [V],pack.cell_2 [V],pack.serial',
    );
    expect(lines[1]).toBe('0.000000,can0,0x100,motor,10,ahead,83,,,');
    expect(lines[2]).toBe('0.001500,can0,0x101,pack,,,,3.6,,AB');
    expect(lines[3]).toBe('0.001500,can0,0x100,motor,-0.1,7,,,,');
    expect(rows).toBe(4);
  });

  it('lets no name start a formula or break a row', async () => {
    const names = ['=HYPERLINK("x")', '+1', '-1', '@SUM(A1)', 'a"b', 'a,b', 'line\nbreak', '\t=1', '  =1'];
    const frame = aFrame({
      id: '0x100',
      length: 4,
      name: '=cmd()',
      signals: names.map((name) => aSignal({ name, lsb: { byte: 0, bit: 0 }, length: 8, unit: '%' })),
    });
    for (const form of ['long', 'wide'] as const) {
      const { bytes } = await decoded({ format: 'csv', form }, aMap([frame]));
      const { data, errors } = Papa.parse<string[]>(bytes.toString().trimEnd());
      expect(errors).toEqual([]);
      expect(new Set(data.map((row) => row.length)).size).toBe(1);
      for (const cell of data.flat().filter((text) => !/^-?[0-9.]+$/.test(text)))
        expect(cell).not.toMatch(/^\s*[=+@-]/);
    }
  });
});

describe('JSON lines', () => {
  it('gives an object a value, or an object a frame', async () => {
    const lines = (bytes: Buffer) =>
      bytes
        .toString()
        .trimEnd()
        .split('\n')
        .map((line) => JSON.parse(line) as unknown);
    const long = lines((await decoded({ format: 'jsonl' })).bytes);
    expect(long[1]).toEqual({
      time_s: 0,
      bus: 'can0',
      id: '0x100',
      frame: 'motor',
      signal: 'gear',
      value: 1,
      unit: '',
      text: 'ahead',
      raw: 1,
    });
    expect(long[7]).toMatchObject({ signal: 'heat', value: null, invalid: 'no data' });
    const wide = lines((await decoded({ format: 'jsonl', form: 'wide' })).bytes);
    expect(wide[1]).toEqual({
      time_s: 0.0015,
      bus: 'can0',
      id: '0x101',
      frame: 'pack',
      values: { cell_1: 3.6, serial: 'AB' },
    });
  });
});

describe('Parquet', () => {
  const buffer = (bytes: Buffer): ArrayBuffer => Uint8Array.from(bytes).buffer;

  it('reads back the same values, typed, with units in the metadata', async () => {
    const { bytes, rows } = await decoded({ format: 'parquet', form: 'wide' });
    const metadata = parquetMetadata(buffer(bytes));
    expect(Number(metadata.num_rows)).toBe(rows);
    const types = Object.fromEntries(metadata.schema.slice(1).map(({ name, type }) => [name, type]));
    expect(types).toMatchObject({ time_s: 'DOUBLE', 'motor.speed': 'DOUBLE', 'motor.gear': 'BYTE_ARRAY' });
    const units = metadata.key_value_metadata?.find(({ key }) => key === 'loomscribe.units')?.value;
    expect(JSON.parse(units ?? '')).toMatchObject({ 'motor.speed': 'rpm', 'pack.cell_1': 'V', 'motor.gear': '' });
    const objects = await parquetReadObjects({ file: buffer(bytes) });
    expect(objects[0]).toMatchObject({ time_s: 0, 'motor.speed': 10, 'motor.gear': 'ahead', 'pack.cell_1': null });
    expect(objects[1]).toMatchObject({ time_s: 0.0015, 'pack.cell_1': 3.6, 'pack.serial': 'AB', 'motor.speed': null });
  });

  it('gives the same rows as CSV in the long form', async () => {
    const { bytes } = await decoded({ format: 'parquet' });
    const objects = await parquetReadObjects({ file: buffer(bytes) });
    const csv = Papa.parse<Record<string, string>>((await decoded({ format: 'csv' })).bytes.toString().trimEnd(), {
      header: true,
    }).data;
    const shown = (value: unknown): string => (value === null || value === undefined ? '' : String(value as string));
    expect(
      objects.map((row) => [row['signal'], shown(row['value']), shown(row['text']), shown(row['invalid'])]),
    ).toEqual(csv.map((row) => [row['signal'], row['value'], row['text'], row['invalid']]));
  });
});

describe('a longer capture', () => {
  it('gives each frame once, in order of time, with the slow decoder’s values', async () => {
    const random = createRandom('long capture');
    const frames: PlainFrame[] = Array.from({ length: 30_000 }, () => {
      const id = random.pick([0x100, 0x102, 0x103]);
      return { timeUs: random.below(60_000_000), bus: 'can0', id, data: [...randomPayload(random, 4)] };
    });
    const level = aSignal({
      name: 'level',
      lsb: { byte: 2, bit: 3 },
      length: 11,
      order: 'big',
      coding: 'signed',
      scale: 0.25,
    });
    const names = ['0x100', '0x102', '0x103'];
    const many = aMap(names.map((id) => aFrame({ id, name: `f${id}`, length: 4, signals: [level] })));
    const table = buildTable(frames);
    const { bytes, rows } = await decoded({ format: 'csv' }, many, table);
    expect(rows).toBe(30_000);
    const cells = bytes
      .toString()
      .trimEnd()
      .split('\r\n')
      .slice(1)
      .map((line) => line.split(','));
    const times = cells.map((row) => Number(row[0]));
    expect(times.every((time, i) => i === 0 || time >= (times[i - 1] as number))).toBe(true);
    for (const id of names) {
      const stream = table.streams.find((s) => s.id === Number(id));
      if (!stream) throw new Error('no stream');
      const expected = Array.from({ length: stream.count }, (_, row) =>
        slowPhysical(level, stream.payload.subarray(row * 4, row * 4 + 4)),
      );
      expect(cells.filter((row) => row[2] === id).map((row) => Number(row[5]))).toEqual(expected);
    }
  });

  it('says what of the map does not occur, and fails where nothing does', async () => {
    const other = aFrame({
      id: '0x777',
      name: 'elsewhere',
      signals: [aSignal({ lsb: { byte: 0, bit: 0 }, length: 8 })],
    });
    const { warnings } = await decoded({ format: 'csv' }, aMap([motor, other]));
    expect(warnings.map(({ code }) => code)).toEqual(['frame-not-in-capture']);
    const none = await decodeCapture(capture, aMap([other]), { format: 'csv' }, { write: () => undefined });
    expect(none.ok ? '' : none.problems[0].code).toBe('nothing-to-decode');
  });

  it('takes the only bus for the only bus, and other names as told', async () => {
    const renamed = buildTable([{ timeUs: 0, bus: 'left', id: 0x100, data: [0, 1, 0, 0] }]);
    expect((await decoded({ format: 'csv' }, aMap([motor]), renamed)).rows).toBe(3);
    const two = buildTable([
      { timeUs: 0, bus: 'left', id: 0x100, data: [0, 1, 0, 0] },
      { timeUs: 1, bus: 'right', id: 0x100, data: [0, 1, 0, 0] },
    ]);
    const blind = await decodeCapture(two, aMap([motor]), { format: 'csv' }, { write: () => undefined });
    expect(blind.ok).toBe(false);
    expect((await decoded({ format: 'csv', busMap: { can0: 'right' } }, aMap([motor]), two)).rows).toBe(3);
  });
});
