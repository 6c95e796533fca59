import { describe, expect, it } from 'vitest';
import { checkTable } from '../../../src/frames/check-table.ts';
import { readCapture } from '../../../src/frames/read-capture.ts';
import { memorySource } from '../../../src/frames/source.ts';
import { pictureOf } from './reading.ts';

async function readAll(...files: readonly (readonly [name: string, text: string, bus?: string])[]) {
  const inputs = files.map(([name, text, bus]) => ({
    source: memorySource(name, new TextEncoder().encode(text)),
    ...(bus === undefined ? {} : { bus }),
  }));
  const outcome = await readCapture(inputs, {}, {});
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  expect(checkTable(outcome.value)).toEqual([]);
  return outcome.value;
}

describe('several files as one capture', () => {
  it('lie on one clock where stamps count from 1970', async () => {
    const table = await readAll(
      ['aft.log', '(1764064800.000000) can0 100#01\n(1764064800.020000) can0 100#02\n'],
      ['bow.log', '(1764064800.010000) can1 200#01\n(1764064799.990000) can1 200#00\n'],
    );
    expect(table.origin.text).toBe('1764064799.990000');
    expect(pictureOf(table)).toEqual([
      '0.000000 can1 200 00',
      '0.010000 can0 100 01',
      '0.020000 can1 200 01',
      '0.030000 can0 100 02',
    ]);
  });

  it('take the bus that they are given where they name none', async () => {
    const csv = 'time,id,data\n0.000,1F4,01\n0.010,1F4,02\n0.020,1F4,03\n';
    const table = await readAll(['a.csv', csv, 'drive'], ['b.csv', csv, 'pack']);
    expect(table.buses).toEqual(['drive', 'pack']);
    expect(table.endUs).toBe(20_000);
  });

  it('follow on each other where a logger counted anew on the same bus', async () => {
    const part = '(0.500000) can0 100#01\n(0.600000) can0 100#02\n';
    const table = await readAll(['1.log', part], ['2.log', part]);
    expect(pictureOf(table).map((line) => line.split(' ')[0])).toEqual([
      '0.000000',
      '0.100000',
      '1.100000',
      '1.200000',
    ]);
    expect(table.files[1]?.clockEvents).toMatchObject([{ kind: 'restart', line: 1, atS: 1.1 }]);
  });

  it('are told apart where their clocks differ, and placed together', async () => {
    const table = await readAll(
      ['a.log', '(1764064800.000000) can0 100#01\n(1764064800.100000) can0 100#02\n'],
      ['b.log', '(7.000000) can1 200#01\n(7.050000) can1 200#02\n'],
    );
    expect(table.files[1]?.warnings.map(({ code }) => code)).toEqual(['clocks-differ']);
    expect(table.endUs).toBe(100_000);
    expect(table.origin).toEqual({ kind: 'epoch', text: '1764064800.000000' });
  });

  it('are one problem each where they cannot be read', async () => {
    const inputs = [
      { source: memorySource('a.log', new TextEncoder().encode('(1.0) can0 100#01\n')) },
      { source: memorySource('empty.log', new Uint8Array(0)) },
      { source: memorySource('list.txt', new TextEncoder().encode('milk\nbread\n')) },
    ];
    const outcome = await readCapture(inputs, {}, {});
    expect(!outcome.ok && outcome.problems.map(({ code, place }) => [place?.file, code])).toEqual([
      ['empty.log', 'empty-file'],
      ['list.txt', 'no-frames'],
    ]);
  });
});
