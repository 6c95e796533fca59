import { gzipSync } from 'node:zlib';
import { readFileSync, writeFileSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { frameSchema, signalMapSchema } from '../../src/map/schema.ts';
import { fitShape, linkShape, surveyShape } from '../support/contract-shapes.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { demoFolder, type DemoFolder } from '../support/demo-folder.ts';

let demo: DemoFolder;
const scratch = mkdtempSync(join(tmpdir(), 'loomscribe-cli-'));

beforeAll(async () => {
  demo = await demoFolder();
}, 120_000);

describe('survey', () => {
  it('prints the shape of the contract, and counts what the file holds', async () => {
    const survey = surveyShape.parse(
      await jsonOf(['survey', demo.main, '--bitrate', 'can0=500000', '--bitrate', 'can1=250000']),
    );
    const lines = readFileSync(demo.main, 'utf8')
      .split('\n')
      .filter((line) => line.startsWith('('));
    const total = survey.frames.reduce((sum, frame) => sum + frame.count, 0);
    expect(survey.capture.frames).toBe(lines.length);
    expect(total).toBe(lines.length);
    expect(survey.capture.originS).toBe((lines[0] as string).slice(1, (lines[0] as string).indexOf(')')));
    for (const bus of survey.buses) expect(bus.load).toBeGreaterThan(0);
  });

  it('has no load without a bit rate, and refuses a rate for a bus that is not there', async () => {
    const survey = surveyShape.parse(await jsonOf(['survey', demo.main]));
    expect(survey.buses.map((bus) => bus.load)).toEqual(survey.buses.map(() => null));
    const wrong = await loomscribe(['survey', demo.main, '--bitrate', 'can7=500000']);
    expect(wrong.code).toBe(2);
    expect(wrong.err).toContain('"can7"');
  });

  it('reads the same from a pipe and from a compressed file', async () => {
    const head = readFileSync(demo.main, 'utf8').split('\n').slice(0, 20_000).join('\n');
    const packed = join(scratch, 'head.log.gz');
    writeFileSync(packed, gzipSync(head));
    const piped = surveyShape.parse(await jsonOf(['survey', '-'], head));
    const unpacked = surveyShape.parse(await jsonOf(['survey', packed]));
    expect(unpacked).toEqual(piped);
  });

  it('takes the bus from BUS=FILE where a file names none', async () => {
    const file = join(scratch, 'nameless.csv');
    writeFileSync(file, 'time,id,data\n0.00,100,01 02\n0.01,100,02 02\n0.02,1A0,03 02\n');
    const survey = surveyShape.parse(await jsonOf(['survey', `body=${file}`]));
    expect(survey.frames.map((frame) => [frame.bus, frame.id, frame.count])).toEqual([
      ['body', '0x100', 2],
      ['body', '0x1A0', 1],
    ]);
  });
});

describe('fields', () => {
  it('prints frames as in the map', async () => {
    const { frames } = (await jsonOf(['fields', demo.unplugged])) as { frames: unknown[] };
    expect(frames.length).toBeGreaterThan(10);
    for (const frame of frames) frameSchema.parse(frame);
  });
});

describe('link and fit', () => {
  it('link prints the shape of the contract: only q <= 0.05, strongest first', async () => {
    const report = linkShape.parse(await jsonOf(['link', demo.main, '--marks', demo.marks]));
    expect(report.actions.length).toBeGreaterThan(3);
    for (const { links } of report.actions) for (const link of links) expect(link.q).toBeLessThanOrEqual(0.05);
    const pressed = report.actions.find((action) => /accelerator/.test(action.action));
    expect(pressed?.links.length).toBeGreaterThan(0);
  });

  it('fit prints the shape of the contract', async () => {
    const report = fitShape.parse(await jsonOf(['fit', demo.main, '--reference', demo.reference]));
    const speed = report.quantities.find((quantity) => quantity.unit === 'km/h');
    expect(speed?.fits[0]?.r2).toBeGreaterThan(0.9);
  });

  it('says with its line what is wrong with a marks file', async () => {
    const file = join(scratch, 'marks.csv');
    writeFileSync(file, 'start,end,action\n1.0,2.0,brake pressed\nsoon,3.0,brake pressed\n');
    const { code, err } = await loomscribe(['link', demo.main, '--marks', file]);
    expect(code).toBe(1);
    expect(err).toMatch(/marks\.csv.*line 3/s);
  });
});

describe('draft', () => {
  it('writes a map that the schema accepts', async () => {
    const file = join(scratch, 'map.json');
    const args = ['draft', demo.main, '--marks', demo.marks, '--reference', demo.reference, '-o', file];
    const { code, err } = await loomscribe(args);
    expect(err).not.toContain('    at ');
    expect(code).toBe(0);
    const map = signalMapSchema.parse(JSON.parse(readFileSync(file, 'utf8')));
    expect(map.frames.length).toBeGreaterThan(20);
    expect(map.frames.some((frame) => frame.signals.some((signal) => signal.unit === 'km/h'))).toBe(true);
  });
});
