/** Decoded values on a common grid of time, some signals only, a window of time: held against a naive scan of the slow decoder's values. */
import { parquetMetadata, parquetReadObjects } from 'hyparquet';
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import { buildTable, type PlainFrame } from '../../src/frames/build-table.ts';
import { decodeCapture, type DecodeOptions } from '../../src/handover/decode-capture.ts';
import { createRandom } from '../../src/kit/random.ts';
import { aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';
import { slowValues, type SlowValue } from '../support/slow-values.ts';

const pump = aFrame({
  id: '0x210',
  name: 'pump',
  length: 4,
  selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 2 })],
  signals: [
    aSignal({ name: 'speed', lsb: { byte: 1, bit: 0 }, length: 12, coding: 'signed', scale: 0.5, unit: 'rpm' }),
    aSignal({ name: 'steps', lsb: { byte: 0, bit: 2 }, length: 6, when: { page: [1, 2] } }),
    aSignal({
      name: 'state',
      lsb: { byte: 3, bit: 0 },
      length: 2,
      kind: 'states',
      states: { '0': 'off', '1': 'on', '2': 'stuck' },
    }),
    aSignal({
      name: 'heat',
      lsb: { byte: 3, bit: 4 },
      length: 4,
      unit: '°C',
      invalid: [{ from: 15, to: 15, meaning: 'no data' }],
    }),
  ],
});
const wide = aFrame({
  id: '0x211',
  name: 'wide',
  length: 8,
  signals: [aSignal({ name: 'total', lsb: { byte: 0, bit: 0 }, length: 48, scale: 3, offset: -7, unit: 'Wh' })],
});
const map = aMap([pump, wide], { requires: ['when'] });

/** About each 10 ms, with a hole of two seconds. */
function frames(seed: string): PlainFrame[] {
  const random = createRandom(seed);
  return Array.from({ length: 400 }, (_, i) => ({
    timeUs: i * 10_000 + random.below(2000) + (i > 200 ? 2e6 : 0),
    bus: 'can0',
    id: i % 10 === 9 ? 0x211 : 0x210,
    data: Array.from({ length: i % 10 === 9 ? 8 : 4 }, () => random.below(256)),
  }));
}

interface Timed extends SlowValue {
  readonly timeUs: number;
}

function seriesOf(rows: readonly PlainFrame[], signal: string): Timed[] {
  const start = rows[0]?.timeUs ?? 0;
  return rows.flatMap(({ timeUs, id, data }) =>
    slowValues(id === 0x210 ? pump : wide, Uint8Array.from(data))
      .filter((value) => value.signal.name === signal)
      .map((value) => ({ ...value, timeUs: timeUs - start })),
  );
}

async function bytesOf(options: DecodeOptions, rows: readonly PlainFrame[]): Promise<Buffer> {
  const parts: Uint8Array[] = [];
  const outcome = await decodeCapture(buildTable(rows), map, options, { write: (b) => void parts.push(b.slice()) });
  if (!outcome.ok) throw new Error(outcome.problems[0].code);
  return Buffer.concat(parts);
}

interface Line {
  readonly time_s: number;
  readonly signal: string;
  readonly values: Readonly<Record<string, unknown>>;
}
const lines = (bytes: Buffer): Line[] =>
  bytes
    .toString()
    .trimEnd()
    .split('\n')
    .map((line) => JSON.parse(line) as Line);
const file = (bytes: Buffer): ArrayBuffer => Uint8Array.from(bytes).buffer;
const REACH_US = 35_000;
const STEP_US = 7000;
const numberOf = ({ physical, invalid }: SlowValue): number | null => (invalid === null ? physical : null);

type Rule = (series: readonly Timed[], t: number) => number | string | null;
const lastOf = (series: readonly Timed[], t: number): Timed | undefined => series.findLast(({ timeUs }) => timeUs <= t);
const hold: Rule = (series, t) => {
  const last = lastOf(series, t);
  if (!last || t - last.timeUs > REACH_US || last.invalid !== null) return null;
  return last.text ?? last.physical;
};
const mean: Rule = (series, t) => {
  const own = series.filter(({ timeUs, invalid }) => timeUs > t - STEP_US && timeUs <= t && invalid === null);
  return own.length === 0 ? null : own.reduce((sum, { physical }) => sum + physical, 0) / own.length;
};
const linear: Rule = (series, t) => {
  const last = lastOf(series, t);
  const next = series.find(({ timeUs }) => timeUs > t);
  if (last?.timeUs === t) return numberOf(last);
  if (!last || !next || next.timeUs - last.timeUs > REACH_US) return null;
  const [a, b] = [numberOf(last), numberOf(next)];
  if (a === null || b === null) return null;
  return a + ((b - a) * (t - last.timeUs)) / (next.timeUs - last.timeUs);
};

describe('a common grid', () => {
  for (const [rule, expected] of Object.entries({ hold, mean, linear }))
    it(`gives at each instant what a naive scan gives: ${rule}`, async () => {
      const rows = frames(`grid ${rule}`);
      const resample = { stepUs: STEP_US, rule: rule as 'hold', reachUs: REACH_US };
      const got = lines(await bytesOf({ format: 'jsonl', form: 'wide', resample }, rows));
      expect(got.length).toBe(Math.floor(((rows.at(-1)?.timeUs ?? 0) - (rows[0]?.timeUs ?? 0)) / STEP_US) + 1);
      for (const name of ['speed', 'steps', 'heat', 'state']) {
        const series = seriesOf(rows, name);
        let some = 0;
        got.forEach(({ time_s, values }, i) => {
          expect(time_s).toBeCloseTo((i * STEP_US) / 1e6, 9);
          const wanted = (name === 'state' ? hold : expected)(series, i * STEP_US);
          const value = values[`pump.${name}`];
          if (typeof wanted === 'number' && typeof value === 'number') expect(value).toBeCloseTo(wanted, 9);
          else expect(value === undefined ? null : String(value)).toBe(wanted === null ? 'null' : String(wanted));
          if (wanted !== null) some++;
        });
        expect(some, name).toBeGreaterThan(40);
      }
    });

  it('keeps a gap a gap, by three times the signal’s own spacing unless told', async () => {
    const rows = frames('gap');
    const hole = (options: Partial<DecodeOptions['resample']> = {}) =>
      bytesOf(
        { format: 'jsonl', form: 'wide', signals: ['speed'], resample: { stepUs: 1e5, rule: 'hold', ...options } },
        rows,
      ).then((bytes) => lines(bytes).filter(({ values }) => values['pump.speed'] === null).length);
    // From 2.1 s to 4.0 s.
    expect(await hole()).toBe(20);
    expect(await hole({ reachUs: 5e6 })).toBe(0);
  });

  it('writes long rows for what is there only, and says rule and reach in Parquet', async () => {
    const rows = frames('long');
    const resample = { stepUs: 50_000, rule: 'linear' as const, reachUs: REACH_US };
    const long = Papa.parse<Record<string, string>>((await bytesOf({ format: 'csv', resample }, rows)).toString(), {
      header: true,
      skipEmptyLines: true,
    }).data;
    expect(long.length).toBeGreaterThan(50);
    expect(long.every((row) => row['value'] !== '' || row['text'] !== '')).toBe(true);
    const bytes = file(await bytesOf({ format: 'parquet', form: 'wide', resample }, rows));
    const { key_value_metadata, row_groups, schema } = parquetMetadata(bytes);
    const told = JSON.parse(
      key_value_metadata?.find(({ key }) => key === 'loomscribe.resampled')?.value ?? '',
    ) as object;
    expect(told).toMatchObject({ stepS: 0.05, rule: 'linear' });
    expect(schema.map(({ name, type }) => `${name} ${type}`)).toContain('pump.steps DOUBLE');
    const chunk = row_groups[0]?.columns.find(({ meta_data }) => meta_data?.path_in_schema[0] === 'pump.speed');
    expect(chunk?.meta_data?.key_value_metadata).toEqual(
      expect.arrayContaining([
        { key: 'unit', value: 'rpm' },
        { key: 'reach_s', value: '0.035' },
      ]),
    );
  });
});

describe('a part of the capture', () => {
  it('takes the signals named and the time asked for, both ends included', async () => {
    const rows = frames('part');
    const start = rows[0]?.timeUs ?? 0;
    const [from, to] = [rows[50], rows[60]].map((row) => ((row?.timeUs ?? 0) - start) / 1e6) as [number, number];
    const got = lines(await bytesOf({ format: 'jsonl', signals: ['pump.speed', 'wide'], fromS: from, toS: to }, rows));
    const wanted = rows.slice(50, 61).map(({ id }) => (id === 0x210 ? 'speed' : 'total'));
    expect(got.map(({ signal }) => signal)).toEqual(wanted);
    await expect(bytesOf({ format: 'csv', signals: ['pump.sped'] }, rows)).rejects.toThrow('no-such-signal');
    await expect(bytesOf({ format: 'csv', fromS: 100 }, rows)).rejects.toThrow('nothing-in-window');
  });

  it('stores whole numbers as integers and keeps each of them', async () => {
    const rows = frames('whole');
    const bytes = file(await bytesOf({ format: 'parquet', form: 'wide' }, rows));
    const { schema, row_groups } = parquetMetadata(bytes);
    const types = Object.fromEntries(schema.slice(1).map(({ name, type }) => [name, type]));
    expect(types).toMatchObject({
      'pump.speed': 'DOUBLE',
      'pump.steps': 'INT32',
      'pump.heat': 'INT32',
      'wide.total': 'INT64',
    });
    const units = row_groups[0]?.columns.map(
      ({ meta_data }) => meta_data?.key_value_metadata?.find(({ key }) => key === 'unit')?.value,
    );
    expect(units).toContain('Wh');
    const totals = (await parquetReadObjects({ file: bytes }))
      .map((row) => row['wide.total'] as unknown)
      .filter((v) => v !== null);
    expect(totals).toEqual(seriesOf(rows, 'total').map(({ physical }) => BigInt(physical)));
  });
});
