/**
 * Reads two openly published recordings of real machines where they are at hand: name their folder in
 * LOOMSCRIBE_REAL_RECORDINGS. Every row is held against a second, independent parser: plain string
 * splitting below. Sources: ReCAN (Data in Brief 2020, doi 10.1016/j.dib.2020.105149, MIT) and a battery
 * module on a bench (CC0 1.0). Neither is part of the project.
 */
import { existsSync, readFileSync } from 'node:fs';
import { join } from 'node:path';
import { gunzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import type { FrameTable } from '../../../src/frames/table.ts';
import { lengthAt } from '../../../src/frames/table.ts';
import { readBytes, reportOf } from './reading.ts';

const FOLDER = process.env.LOOMSCRIBE_REAL_RECORDINGS;

interface Row {
  readonly us: bigint;
  readonly bus: string;
  readonly id: number;
  readonly sent: boolean;
  readonly hex: string;
}

/** [rows] in the order of the file. */
function rowsOf(table: FrameTable, originUs: bigint): Row[] {
  const rows: { rank: number; row: Row }[] = [];
  for (const stream of table.streams) {
    for (let i = 0; i < stream.count; i++) {
      const start = i * stream.stride;
      const hex = Buffer.from(stream.payload.subarray(start, start + lengthAt(stream, i))).toString('hex');
      const us = originUs + BigInt(Math.round(stream.timeUs[i] as number));
      rows.push({
        rank: stream.arrival[i] as number,
        row: { us, bus: stream.bus, id: stream.id, sent: stream.direction === 'sent', hex },
      });
    }
  }
  return rows.sort((a, b) => a.rank - b.rank).map(({ row }) => row);
}

const microsOf = (seconds: string): bigint =>
  BigInt((seconds + '000000').replace('.', '').slice(0, seconds.indexOf('.') + 6));

const CASES: readonly (readonly [file: string, skip: number, parse: (cells: string[]) => Row])[] = [
  [
    'light-truck.csv.gz',
    0,
    ([time, bus, id, , bits]) => ({
      us: microsOf(time as string),
      bus: bus as string,
      id: parseInt(id as string, 16),
      sent: false,
      hex: (bits as string).replace(/[01]{8}/g, (byte) => parseInt(byte, 2).toString(16).padStart(2, '0')),
    }),
  ],
  [
    'battery-bench.csv.gz',
    1,
    ([time, bus, direction, id, , hex]) => ({
      us: BigInt(Date.parse((time as string).replace(' ', 'T') + 'Z')) * 1000n,
      bus: bus as string,
      id: Number(id),
      sent: direction === 'tx',
      hex: (hex as string).toLowerCase(),
    }),
  ],
];

describe.skipIf(!FOLDER)('real recordings, read with no option given', () => {
  it.each(CASES)(
    '%s: every row accounted for, times, buses, identifiers, payloads and directions right',
    async (file, skip, parse) => {
      const path = join(FOLDER as string, file);
      expect(existsSync(path)).toBe(true);
      const packed = new Uint8Array(readFileSync(path));
      const lines = gunzipSync(packed).toString('latin1').trimEnd().split(/\r?\n/).slice(skip);
      const expected = lines.map((line) => parse(line.split(',')));
      const table = await readBytes(packed, {}, file);
      expect(reportOf(table)).toMatchObject({ accepted: expected.length, rejected: 0, passedOver: skip });
      expect(table.origin.kind).toBe('epoch');
      expect(rowsOf(table, microsOf(table.origin.text))).toEqual(expected);
    },
  );
});
