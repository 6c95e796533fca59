/** The verbs that take a map: prove, decode, handover; and compare, which takes two captures. */
import { existsSync, mkdtempSync, readFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { asyncBufferFromFile, parquetReadObjects } from 'hyparquet';
import Papa from 'papaparse';
import { beforeAll, describe, expect, it } from 'vitest';
import { signalMapSchema } from '../../src/map/schema.ts';
import { requireGcc, STRICT, workplace } from '../support/compile-c.ts';
import { compareShape, proveShape } from '../support/contract-shapes.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { demoFolder, type DemoFolder } from '../support/demo-folder.ts';

let demo: DemoFolder;
const scratch = mkdtempSync(join(tmpdir(), 'loomscribe-maps-'));

beforeAll(async () => {
  demo = await demoFolder();
}, 120_000);

describe('prove', () => {
  it('holds the true map against another drive: nothing fails', async () => {
    const report = proveShape.parse(await jsonOf(['prove', demo.second, '--map', demo.trueMap]));
    const items = report.frames.flatMap((frame) => frame.items);
    expect(items.filter(({ verdict }) => verdict === 'fails')).toEqual([]);
    for (const kind of ['presence', 'timing', 'counter', 'checksum', 'signal']) {
      expect(items.filter(({ item, verdict }) => item === kind && verdict === 'holds').length, kind).toBeGreaterThan(3);
    }
  });

  it('says that a capture which the map was made from proves nothing', async () => {
    const { code, out, err } = await loomscribe(['prove', demo.main, '--map', demo.trueMap]);
    expect(code).toBe(0);
    expect(out).toMatch(/^[\d,]+ items hold, 0 fail/);
    expect(err).toContain('proves nothing');
  });
});

describe('compare', () => {
  it('names what the unplugged inverter sent, with options on either side of --', async () => {
    const comparison = compareShape.parse(await jsonOf(['compare', demo.main, '--', demo.unplugged]));
    const { frames } = signalMapSchema.parse(JSON.parse(readFileSync(demo.trueMap, 'utf8')));
    const fromInverter = (id: string): boolean =>
      frames.some((frame) => frame.id === id && frame.sender?.name === 'inverter');
    expect(comparison.onlyInA.length).toBeGreaterThan(3);
    expect(comparison.onlyInA.filter(({ id }) => !fromInverter(id))).toEqual([]);
    expect(comparison.onlyInB).toEqual([]);
    expect(comparison.timingChanged.length).toBeGreaterThan(0);
  });

  it('finds no difference between a capture and itself', async () => {
    const ended = await loomscribe(['compare', '--json', demo.cut, '--', demo.cut, '--bus-map', 'can0=can0']);
    expect(ended.code).toBe(0);
    expect(compareShape.parse(JSON.parse(ended.out))).toMatchObject({
      onlyInA: [],
      onlyInB: [],
      timingChanged: [],
      payloadChanged: [],
    });
  });
});

describe('decode', () => {
  it('writes the same values as CSV, JSON lines and Parquet, into a folder that it makes', async () => {
    const out = (ending: string): string => join(scratch, 'made', `cut${ending}`);
    const summaries: unknown[] = [];
    for (const ending of ['.csv', '.jsonl', '.parquet']) {
      summaries.push(await jsonOf(['decode', demo.cut, '--map', demo.trueMap, '-o', out(ending)]));
    }
    const { rows, signals } = summaries[0] as { rows: number; signals: number };
    expect(summaries).toEqual([summaries[0], summaries[0], summaries[0]]);
    expect(signals).toBeGreaterThan(5);
    const csv = Papa.parse<Record<string, string>>(readFileSync(out('.csv'), 'utf8'), {
      header: true,
      skipEmptyLines: true,
    }).data;
    const json = readFileSync(out('.jsonl'), 'utf8')
      .trimEnd()
      .split('\n')
      .map((line) => JSON.parse(line) as Record<string, unknown>);
    const parquet = await parquetReadObjects({ file: await asyncBufferFromFile(out('.parquet')) });
    expect([csv.length, json.length, parquet.length]).toEqual([rows, rows, rows]);
    for (let at = 0; at < rows; at += 997) {
      const [line, object, row] = [csv[at], json[at], parquet[at]] as [
        Record<string, string>,
        Record<string, unknown>,
        Record<string, unknown>,
      ];
      expect(row['value']).toBe(object['value']);
      // CSV rounds to the figures that mean something; the other two hold the double.
      if (line['value'] === '') expect(object['value']).toBeNull();
      else expect(Number(line['value'])).toBeCloseTo(object['value'] as number, 6);
      expect([line['id'], line['signal'], Number(line['time_s'])]).toEqual([row['id'], row['signal'], row['time_s']]);
    }
  });

  it('refuses an ending that names no format, and a map that meets nothing in the capture', async () => {
    const wrong = await loomscribe(['decode', demo.cut, '--map', demo.trueMap, '-o', join(scratch, 'x.txt')]);
    expect(wrong.code).toBe(2);
    const target = join(scratch, 'nothing.csv');
    const none = await loomscribe(['decode', '-', '--map', demo.trueMap, '-o', target], '(1.000000) can0 7F0#00\n');
    expect(none.code).toBe(1);
    expect(none.err).toContain('no frame of the map occurs');
    expect(existsSync(target)).toBe(false);
  });
});

describe('handover', () => {
  beforeAll(requireGcc);

  it('writes files whose C compiles as strict C99', async () => {
    const folder = join(scratch, 'handover');
    const { files } = (await jsonOf(['handover', '--map', demo.trueMap, '-o', folder, '--range', 'allowed'])) as {
      files: { name: string; bytes: number }[];
    };
    for (const { name, bytes } of files) expect(readFileSync(name).length).toBe(bytes);
    const place = workplace();
    for (const name of ['signal_map.h', 'signal_map.c']) place.write(name, readFileSync(join(folder, name)));
    place.compile('gcc', ['-std=c99', ...STRICT, '-c', 'signal_map.c', '-o', 'signal_map.o']);
    place.remove();
  });

  it('stops at a release that names no signal, and at a range that is none', async () => {
    const args = ['handover', '--map', demo.trueMap, '-o', join(scratch, 'not-made')];
    const release = await loomscribe([...args, '--release', 'nothing.at_all']);
    expect([release.code, release.out]).toEqual([1, '']);
    expect(release.err).toContain('nothing.at_all');
    expect((await loomscribe([...args, '--range', 'wide'])).code).toBe(2);
    expect(existsSync(join(scratch, 'not-made'))).toBe(false);
  });
});
