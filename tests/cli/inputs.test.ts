/** How captures, marks and references reach the command line, and captures that are strange but lawful. */
import { createHash } from 'node:crypto';
import { mkdtempSync, readFileSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { gzipSync } from 'node:zlib';
import { describe, expect, it } from 'vitest';
import { emptyDossier } from '../../src/jobs/dossier.ts';
import { checkMap } from '../../src/map/check.ts';
import { signalMapSchema } from '../../src/map/schema.ts';
import { linkShape, surveyShape } from '../support/contract-shapes.ts';
import { jsonOf, loomscribe } from '../support/command.ts';

const scratch = mkdtempSync(join(tmpdir(), 'loomscribe-inputs-'));
const written = (name: string, content: string | Uint8Array): string => {
  const path = join(scratch, name);
  writeFileSync(path, content);
  return path;
};
const hex = (value: number, digits: number): string => value.toString(16).toUpperCase().padStart(digits, '0');
const stamp = (us: number): string => `(${1_700_000_000 + Math.floor(us / 1e6)}.${String(us % 1e6).padStart(6, '0')})`;

/** 40 s of one identifier: a counter, and a byte that jumps while a pedal is down. */
const PRESSES = [
  [4, 6],
  [11, 12.5],
  [17, 19],
  [23.5, 25],
  [29, 31],
  [35, 36],
] as const;
const lines = Array.from({ length: 4000 }, (_, i) => {
  const timeS = i / 100;
  const down = PRESSES.some(([from, to]) => timeS >= from && timeS < to);
  const pedal = (down ? 150 : 20) + ((i * 7) % 5);
  return `${stamp(i * 10_000)} can0 1F4#${hex(pedal, 2)}00${hex(i % 16, 2)}`;
});
const text = (part: readonly string[]): string => part.join('\n') + '\n';
const whole = written('whole.log', text(lines));
const marks = written(
  'marks.csv',
  'start,end,action\n' + PRESSES.map(([from, to]) => `${from},${to},pedal pressed`).join('\n') + '\n',
);
const survey = async (args: readonly string[], input?: string | Uint8Array) =>
  surveyShape.parse(await jsonOf(['survey', ...args], input));

describe('a capture', () => {
  it('is the same from a file, a pipe, a compressed file, and from parts in any order', async () => {
    const expected = await survey([whole]);
    expect(expected.capture.frames).toBe(lines.length);
    expect(await survey(['-'], text(lines))).toEqual(expected);
    expect(await survey([written('whole.log.gz', gzipSync(text(lines)))])).toEqual(expected);
    const first = written('first.log', text(lines.slice(0, 1500)));
    const second = written('second.log', text(lines.slice(1500)));
    expect(await survey([second, first])).toEqual(expected);
  });

  it('takes its bus from BUS=FILE where a file names none', async () => {
    const file = written('nameless.csv', 'time,id,data\n0.00,100,01 02\n0.01,100,02 02\n0.02,1A0,03 02\n');
    const { frames } = await survey([`body=${file}`]);
    expect(frames.map((frame) => [frame.bus, frame.id, frame.count])).toEqual([
      ['body', '0x100', 2],
      ['body', '0x1A0', 1],
    ]);
  });

  it('reads stamps without a zone in the zone that --tz names, else as UTC', async () => {
    const file = written(
      'dates.csv',
      'time,id,data\n2026-03-09 08:00:00.000,100,01\n2026-03-09 08:00:00.010,100,02\n2026-03-09 08:00:00.020,100,03\n',
    );
    // ISO 8601: 08:00 at +02:00 is 06:00 UTC.
    const utc = Date.UTC(2026, 2, 9, 8) / 1000;
    expect(Number((await survey([file])).capture.originS)).toBe(utc);
    expect(Number((await survey([file, '--tz', '+02:00'])).capture.originS)).toBe(utc - 2 * 3600);
  });

  it('counts lines that are no frames, and says where the first one is', async () => {
    const file = written(
      'broken.log',
      text(lines.slice(0, 100).flatMap((line, i) => (i === 7 ? [line, '?'] : [line]))),
    );
    const { code, out, err } = await loomscribe(['survey', file, '--json']);
    expect(code).toBe(0);
    expect(surveyShape.parse(JSON.parse(out)).capture).toMatchObject({ frames: 100, rejected: 1 });
    expect(err).toMatch(/broken\.log: 1 of 101 lines.*line 9/);
  });

  it('keeps frames that the logger sent out of what the vehicle says', async () => {
    const rows = Array.from({ length: 200 }, (_, i) => `${(i / 100).toFixed(2)},Tx,can0,7DF,02 01 0${i % 8}`);
    const file = written('sent.csv', 'time,dir,bus,id,data\n' + text(rows));
    expect((await survey([file])).capture.frames).toBe(200);
    expect(await jsonOf(['fields', file])).toEqual({ frames: [] });
  });
});

describe('a dossier', () => {
  it('gives capture, marks and rates at once', async () => {
    const parsed = PRESSES.map(([startS, endS], i) => ({ key: `m${i}`, action: 'pedal pressed', startS, endS }));
    const bytes = readFileSync(whole);
    const files = [
      { name: 'whole.log', bytes: bytes.length, sha256: createHash('sha256').update(bytes).digest('hex') },
    ];
    const capture = { id: 'c1', title: 'bench', role: 'main', files, columns: {}, trim: null, marks: parsed };
    const dossier = written(
      'part.loom.json',
      JSON.stringify({
        ...emptyDossier(),
        captures: [{ ...capture, markTimeBase: 'capture', markOffset: 'auto', references: [] }],
        // A rate that another capture of the dossier needs does this one no harm.
        rates: { can0: { bitrate: 500_000, dataBitrate: null }, can9: { bitrate: 250_000, dataBitrate: null } },
      }),
    );
    const byWords = linkShape.parse(await jsonOf(['link', whole, '--marks', marks]));
    const byDossier = linkShape.parse(await jsonOf(['link', '--dossier', dossier]));
    expect(byDossier).toEqual(byWords);
    expect(byWords.actions[0]?.links[0]).toMatchObject({ id: '0x1F4', lsb: { byte: 0 } });
    expect((await survey(['--dossier', dossier])).buses[0]?.load).toBeGreaterThan(0);
  });
});

describe('a dossier of short captures named after one action each', () => {
  /** 3 s: a byte that is raised while the horn sounds, one that wavers, one that nobody moves. */
  const short = (isHorn: boolean, seed: number): string =>
    text(
      Array.from({ length: 300 }, (_, i) => {
        const sounds = isHorn && i > 80 && i < 90 + 10 * (seed % 5);
        const wavers = Math.round(100 + 40 * Math.sin(seed + i / 30));
        return `${stamp(seed * 60_000_000 + i * 10_000)} can0 2A0#${hex(sounds ? 1 : 0, 2)}${hex(wavers, 2)}00`;
      }),
    );
  const save = (titles: readonly string[]): string => {
    const captures = titles.map((title, i) => {
      const name = `log-${titles.length}-${i}.log`;
      written(name, short(title.startsWith('horn'), i + 1));
      return { id: `c${i}`, title, role: '', files: [{ name, bytes: 0, sha256: '' }], columns: {}, references: [] };
    });
    return written(`short-${titles.length}.loom.json`, JSON.stringify({ ...emptyDossier(), captures }));
  };

  it('ties the field to the action, and says whose name is not understood', async () => {
    const titles = Array.from({ length: 12 }, (_, i) => (i % 3 === 0 ? `horn ${i}` : `nothing ${i}`));
    const { code, out, err } = await loomscribe(['link', '--dossier', save([...titles, 'log 13']), '--json']);
    expect({ code, err }).toMatchObject({ code: 0 });
    expect(err).toMatch(/"log 13" does not say what was done/);
    const { actions } = linkShape.parse(JSON.parse(out));
    expect(actions.map(({ action }) => action)).toEqual(['horn']);
    expect(actions[0]?.links[0]).toMatchObject({ id: '0x2A0', lsb: { byte: 0, bit: 0 }, direction: 'level' });
    // Choices of 4 of 12: 495, of which 70 hold but captures of nothing and one is the horn's own; two fields move and count as one.
    expect(actions[0]?.links[0]?.p).toBeCloseTo(1 / (1 + (495 - 70 - 1)), 9);
  });

  it('is wrong usage where no action was recorded twice', async () => {
    const { code, err } = await loomscribe(['link', '--dossier', save(['horn', 'nothing'])]);
    expect(code).toBe(2);
    expect(err).toMatch(/two or more captures named after one action/);
  });
});

describe('strange captures end in an answer or a clear refusal, never in a stack trace', () => {
  const fd = Array.from({ length: 60 }, (_, i) => `${stamp(i * 20_000)} can0 18FF50E5##1${hex(i, 2).repeat(64)}`);
  it.each([
    ['one frame only', lines.slice(0, 1), 1],
    ['two frames with one stamp', [lines[0] as string, lines[0] as string], 1],
    ['CAN FD frames of 64 bytes', fd, 1],
    ['remote frames only', [`${stamp(0)} can0 123#R`, `${stamp(10_000)} can0 123#R8`], 0],
    ['error frames only', [`${stamp(0)} can0 20000004#0001000000000000`], 0],
    ['one number as 11-bit and 29-bit identifier', [`${stamp(0)} can0 123#01`, `${stamp(1000)} can0 00000123#02`], 2],
  ] as const)('%s', async (title, content, frames) => {
    const file = written(`${title.replace(/\W+/g, '-')}.log`, text(content));
    const { code, out, err } = await loomscribe(['draft', file, '--marks', marks, '-o', '-']);
    expect({ code, trace: /^ {4}at /m.test(err) }).toEqual({ code: 0, trace: false });
    const map = signalMapSchema.parse(JSON.parse(out));
    expect(checkMap(map).errors).toEqual([]);
    expect(map.frames.length).toBe(frames);
  });
});
