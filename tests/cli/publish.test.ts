/** `publish` as a process: files written, numbers gone, what is refused. */
import { mkdtempSync, readdirSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { printMap } from '../../src/map/print.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { aFrame, aMap, aSelector } from '../support/map-parts.ts';

const VEHICLE = '2X9KB7R3XPT104417';
const hex = (text: string): string => Buffer.from(text, 'latin1').toString('hex').toUpperCase();

interface Printed {
  readonly finds: readonly { readonly key: string; readonly kind: string; readonly length: number }[];
  readonly list: { readonly framesWritten: number; readonly framesChanged: number } | null;
  readonly files: readonly string[];
}

let folder: string;
const at = (name: string): string => join(folder, name);

beforeAll(() => {
  folder = mkdtempSync(join(tmpdir(), 'publish-'));
  const lines = Array.from({ length: 90 }, (_, row) => {
    const page = row % 3;
    const text = VEHICLE.slice(page * 7, page * 7 + 7).padEnd(7, '\0');
    const second = 1_764_064_800 + Math.floor(row / 10);
    return [
      `(${second}.${row % 10}00000) can0 3A1#0${page}${hex(text)}`,
      `(${second}.${row % 10}50000) can0 0C0#00${(row % 100).toString().padStart(2, '0')}`,
    ];
  });
  writeFileSync(at(`drive-${VEHICLE}.log`), `${lines.flat().join('\n')}\n`);
  const frame = aFrame({
    id: '0x3A1',
    name: 'identity',
    selectors: [aSelector({ lsb: { byte: 0, bit: 0 }, length: 8 })],
    rest: null,
  });
  writeFileSync(
    at('map.json'),
    printMap(aMap([frame], { part: { title: 'Pump inverter', donor: VEHICLE, notes: '' } })),
  );
  writeFileSync(at('marks.csv'), `start,end,action,note\n1,2,key to on,${VEHICLE}\n`);
});
afterAll(() => rmSync(folder, { recursive: true, force: true }));

const words = (out: string): string[] => [
  'publish',
  at(`drive-${VEHICLE}.log`),
  '--map',
  at('map.json'),
  '-o',
  at(out),
];

describe('publish', () => {
  it('writes log, map, report, list and what is beside, all without the number', async () => {
    const { finds, list, files } = (await jsonOf([
      ...words('out'),
      '--beside',
      at('marks.csv'),
      '--without-times',
    ])) as Printed;
    expect(finds.map(({ kind, length }) => [kind, length])).toEqual([['vehicle-number', 17]]);
    expect(list).toMatchObject({ framesWritten: 180, framesChanged: 90 });
    expect(files).toHaveLength(7);
    expect(readdirSync(at('out')).sort()).toEqual([
      'blanked.json',
      'blanked.md',
      'capture.log',
      'marks.csv',
      'report.html',
      'report.md',
      'signal-map.json',
    ]);
    for (const name of readdirSync(at('out'))) {
      const text = readFileSync(at(`out/${name}`), 'utf8');
      expect(text, name).not.toContain(VEHICLE);
      expect(text, name).not.toContain(hex(VEHICLE.slice(0, 7)));
    }
    expect(readFileSync(at('out/capture.log'), 'utf8').split('\n')[0]).toBe('(0.000000) can0 3A1#0030583058583058');
    expect(readFileSync(at('out/marks.csv'), 'utf8')).toContain('1,2,key to on,0X0XX0X0XXX000000');
  });

  it('writes nothing where it should only find, and leaves what is kept', async () => {
    const dry = (await jsonOf([...words('dry'), '--find-only'])) as Printed;
    expect([dry.list, dry.files, dry.finds.length]).toEqual([null, [], 1]);
    const told = await loomscribe([...words('dry'), '--find-only']);
    expect(told.out).toMatch(/vehicle-number-1[^]*Nothing was written\..*--keep FIND/);
    const key = dry.finds[0]?.key ?? '';
    const kept = (await jsonOf([...words('kept'), '--keep', key, '--format', 'pcapng'])) as Printed;
    expect(kept.list?.framesChanged).toBe(0);
    expect(readFileSync(at('kept/capture.pcapng')).includes(VEHICLE.slice(0, 7))).toBe(true);
  });

  it('says what it cannot do: a find that is none, a number too short', async () => {
    const unknown = await loomscribe([...words('no'), '--keep', 'vehicle-number-9']);
    expect([unknown.code, unknown.out]).toEqual([1, '']);
    expect(unknown.err).toContain('vehicle-number-1');
    const short = await loomscribe([...words('no'), '--number', '12']);
    expect(short.code).toBe(1);
    expect(short.err).toContain('too short');
  });
});
