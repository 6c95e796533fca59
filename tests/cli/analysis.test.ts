import { readFileSync, writeFileSync, mkdtempSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { beforeAll, describe, expect, it } from 'vitest';
import { checkMap } from '../../src/map/check.ts';
import { frameSchema, signalMapSchema } from '../../src/map/schema.ts';
import { fitShape, linkShape, surveyShape } from '../support/contract-shapes.ts';
import { jsonOf, loomscribe } from '../support/command.ts';
import { demoFolder, type DemoFolder } from '../support/demo-folder.ts';

let demo: DemoFolder;
const scratch = mkdtempSync(join(tmpdir(), 'loomscribe-analysis-'));

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

  it('names modes by marks at the offset given, or else found, and says which', async () => {
    const given = ['survey', demo.cut, '--marks', demo.marks, '--marks-offset', '-2.84', '--json'];
    const byHand = await loomscribe(given);
    expect(byHand.err).toContain('given by hand');
    const told = JSON.parse(byHand.out) as { modes: { mode: string; why: string }[]; marksClock: unknown };
    expect(told.marksClock).toMatchObject({ offsetS: -2.84, from: 'given' });
    expect(told.modes.map(({ mode }) => mode)).toContain('driving');
    const found = JSON.parse((await loomscribe(given.toSpliced(4, 2))).out) as typeof told;
    const { offsetS, from } = found.marksClock as { offsetS: number; from: string };
    expect(from).toBe('found');
    expect(Math.abs(offsetS + 2.84)).toBeLessThan(0.2);
    expect(found.modes.map(({ mode }) => mode)).toEqual(told.modes.map(({ mode }) => mode));
  });

  it('has no load without a bit rate, and refuses a rate for a bus that is not there', async () => {
    const survey = surveyShape.parse(await jsonOf(['survey', demo.cut]));
    expect(survey.buses.map((bus) => bus.load)).toEqual(survey.buses.map(() => null));
    const wrong = await loomscribe(['survey', demo.cut, '--bitrate', 'can7=500000']);
    expect(wrong.code).toBe(2);
    expect(wrong.err).toContain('"can7"');
  });
});

describe('fields', () => {
  it('prints frames as in the map, and for a person a line a proposal with its reason on request', async () => {
    const { frames } = (await jsonOf(['fields', demo.cut])) as { frames: unknown[] };
    expect(frames.length).toBeGreaterThan(3);
    const names = frames.flatMap((frame) => frameSchema.parse(frame).signals.map(({ name }) => name));
    const { out } = await loomscribe(['fields', demo.cut, '--why']);
    for (const name of names) expect(out).toContain(name);
    expect(out).toMatch(/^ {6}\w/m);
  });
});

describe('link and fit', () => {
  it('link prints the shape of the contract: only q <= 0.05 unless --all', async () => {
    const args = ['link', demo.cut, '--marks', demo.marks];
    const report = linkShape.parse(await jsonOf(args));
    expect(report.actions.length).toBeGreaterThan(3);
    for (const { links } of report.actions) for (const link of links) expect(link.q).toBeLessThanOrEqual(0.05);
    const pressed = report.actions.find((action) => /accelerator/.test(action.action));
    expect(pressed?.links.length).toBeGreaterThan(0);
    const all = linkShape.parse(await jsonOf([...args, '--all']));
    expect(all.actions.some(({ links }) => links.some(({ q }) => q > 0.05))).toBe(true);
  });

  it('takes a clock offset by hand as it is given, negative too', async () => {
    const report = linkShape.parse(await jsonOf(['link', demo.cut, '--marks', demo.marks, '--marks-offset', '-2.84']));
    expect(report.clockOffsetS).toBe(-2.84);
  });

  it('says that marks lie outside the capture', async () => {
    const file = join(scratch, 'elsewhere.csv');
    writeFileSync(file, 'start,end,action\n90000,90001,brake pressed\n90010,90011,brake pressed\n');
    const { code, err } = await loomscribe(['link', demo.cut, '--marks', file]);
    expect(code).toBe(0);
    expect(err).toContain('outside the capture');
  });

  it('fit prints the shape of the contract', async () => {
    const report = fitShape.parse(await jsonOf(['fit', demo.cut, '--reference', demo.reference]));
    const speed = report.quantities.find((quantity) => quantity.unit === 'km/h');
    expect(speed?.fits[0]?.r2).toBeGreaterThan(0.9);
  });

  it('says with its line what is wrong with a marks file', async () => {
    const file = join(scratch, 'marks.csv');
    writeFileSync(file, 'start,end,action\n1.0,2.0,brake pressed\nsoon,3.0,brake pressed\n');
    const { code, err } = await loomscribe(['link', demo.cut, '--marks', file]);
    expect(code).toBe(1);
    expect(err).toMatch(/marks\.csv.*line 3/s);
  });
});

describe('draft', () => {
  it('writes a map that the schema accepts and that does not contradict itself', async () => {
    const file = join(scratch, 'map.json');
    const args = ['draft', demo.cut, '--marks', demo.marks, '--reference', demo.reference, '-o', file];
    const { code, err } = await loomscribe([...args, '--bitrate', 'can0=500000', '--title', 'Drive unit']);
    expect(err).not.toContain('    at ');
    expect(code).toBe(0);
    const map = signalMapSchema.parse(JSON.parse(readFileSync(file, 'utf8')));
    expect(checkMap(map).errors).toEqual([]);
    expect(map.frames.some((frame) => frame.signals.some((signal) => signal.unit === 'km/h'))).toBe(true);
    expect(map.part.title).toBe('Drive unit');
    const braking = map.sequences.find(({ name }) => name === 'brake pressed');
    expect(braking?.steps.length).toBeGreaterThan(0);
    for (const { bus, id, signal } of map.sequences.flatMap(({ steps }) => steps))
      expect(
        map.frames.find((frame) => frame.bus === bus && frame.id === id)?.signals.some(({ name }) => name === signal),
      ).toBe(true);
    expect(map.buses.map(({ name, bitrate }) => [name, bitrate])).toEqual([
      ['can0', 500_000],
      ['can1', null],
    ]);
    const [recorded] = map.captures[0]?.files ?? [];
    expect(recorded?.bytes).toBe(readFileSync(demo.cut).length);
    expect(recorded?.sha256).toMatch(/^[0-9a-f]{64}$/);
  });
});
