/** `excerpt` as a person runs it: nothing without the phrase, then files that our own readers read back. */
import { existsSync, mkdtempSync, readFileSync, rmSync, writeFileSync } from 'node:fs';
import { tmpdir } from 'node:os';
import { join } from 'node:path';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { ExcerptAnswer } from '../../src/handover/sending/prepare.ts';
import { restMark } from '../../src/handover/sending/marked-rest.ts';
import { parseMap } from '../../src/map/parse.ts';
import { printMap } from '../../src/map/print.ts';
import { loomscribe } from '../support/command.ts';
import { requireGcc, STRICT, workplace } from '../support/compile-c.ts';
import { aCounter, aFrame, aMap, aSignal } from '../support/map-parts.ts';

const folder = mkdtempSync(join(tmpdir(), 'loomscribe-excerpt-'));
afterAll(() => rmSync(folder, { recursive: true, force: true }));
const path = (name: string): string => join(folder, name);

const START = 1_773_042_000;
const rest = { payload: '00 00 00 00 00 00 00 00', capture: 'c1', fromS: 0, toS: 1 };
const map = aMap([
  aFrame({ name: 'pump_state', id: '0x100', role: 'sent-by-part', rest }),
  aFrame({
    name: 'gear',
    id: '0x200',
    role: 'needed-by-part',
    rest,
    counters: [aCounter({ lsb: { byte: 7, bit: 0 }, length: 4 })],
    signals: [
      aSignal({
        name: 'selector',
        lsb: { byte: 0, bit: 0 },
        length: 2,
        kind: 'states',
        states: { '0': 'park', '1': 'drive' },
      }),
    ],
  }),
  aFrame({
    name: 'demand',
    id: '0x300',
    role: 'needed-by-part',
    rest,
    signals: [aSignal({ name: 'torque_request', lsb: { byte: 0, bit: 0 }, length: 8, role: 'command' })],
  }),
]);

/** 20 s at 50 frames a second of each: in park from 5 to 15 s. */
function writeCapture(): void {
  const lines: string[] = [];
  for (let i = 0; i < 1000; i++) {
    const atS = i * 0.02;
    const gear = atS >= 5 && atS < 15 ? 0 : 1;
    const stamp = (offset: number): string => `(${(START + atS + offset).toFixed(6)}) can0 `;
    const counter = (i & 15).toString(16).padStart(2, '0');
    lines.push(`${stamp(0)}100#0102030405060708`);
    lines.push(`${stamp(0.001)}200#0${gear}00000000AA00${counter}`);
    lines.push(`${stamp(0.002)}300#${gear === 0 ? '00' : '40'}00000000000000`);
  }
  writeFileSync(path('drive.log'), `${lines.join('\n')}\n`);
}

beforeAll(() => {
  requireGcc();
  writeCapture();
  writeFileSync(path('map.json'), printMap(map));
  writeFileSync(
    path('marks.csv'),
    `start,end,action\n${START + 6},${START + 12},at rest\n${START + 12.5},${START + 17},parked\n${START + 1},${START + 2},brake pressed\n`,
  );
});

const given = (...more: string[]): string[] => [
  'excerpt',
  path('drive.log'),
  '--map',
  path('map.json'),
  '--marks',
  path('marks.csv'),
  '--marks-offset',
  '0',
  ...more,
];
const phraseOf = (err: string): string => /--confirm "([^"]+)"/.exec(err)?.[1] ?? '';

describe('a part of a capture', () => {
  it('is told and not written without the phrase, and a phrase of another set does not do', async () => {
    const args = given('--span', 'at rest', '-o', path('none.log'), '--release', 'gear');
    const first = await loomscribe(args);
    expect(first.code).toBe(1);
    expect(first.err).toContain('High voltage');
    expect(first.err).toContain('THIS SENDS 1 frame: gear (can0/0x200)');
    expect(first.out).toMatch(/- selector: gear\.selector \(2\d\d values\)/);
    expect(first.out).toMatch(/- the part sends it itself[^\n]*\n {2}pump_state \(can0\/0x100\)/);
    const phrase = phraseOf(first.err);
    expect(phrase).toMatch(/^send gear, which may command, to Pump inverter of a harbour tender /);
    const other = await loomscribe([...args, '--release', 'demand', '--confirm', phrase]);
    expect(other.code).toBe(1);
    expect(other.err).toContain('demand (can0/0x300) MAY COMMAND');
    expect(phraseOf(other.err)).toMatch(/^send (demand, gear|gear, demand), which may command, to /);
    expect(existsSync(path('none.log'))).toBe(false);
  });

  it.each(['log', 'pcapng'])('%s with the phrase: only what was released, only within the span', async (ending) => {
    const out = path(`part.${ending}`);
    const args = given('--span', 'at rest', '-o', out, '--release', 'gear');
    const phrase = phraseOf((await loomscribe(args)).err);
    const done = await loomscribe([...args, '--confirm', phrase, '--json']);
    expect(done.code, done.err).toBe(0);
    const answer = JSON.parse(done.out) as ExcerptAnswer & { written: { frames: number }; files: string[] };
    const back = await loomscribe(['survey', out, '--json']);
    const survey = JSON.parse(back.out) as {
      capture: { frames: number; originS: string; durationS: number };
      frames: { id: string; count: number }[];
    };
    expect(survey.frames.map(({ id }) => id)).toEqual(['0x200']);
    expect(survey.capture.frames).toBe(answer.written.frames);
    const fromS = Number(survey.capture.originS) - START;
    expect(fromS).toBeGreaterThanOrEqual(answer.span?.fromS ?? Infinity);
    expect(fromS + survey.capture.durationS).toBeLessThanOrEqual(answer.span?.toS ?? 0);
    expect(answer.files).toHaveLength(ending === 'log' ? 2 : 1);
    const told = readFileSync(answer.files.at(-1) as string, 'utf8');
    expect(told).toContain('THIS SENDS 1 frame: gear');
  });

  it.each<[string, string[], RegExp]>([
    ['frames that speak against the mark', ['--span', 'parked'], /gear\.selector is drive, not park at 15\.00 s/],
    ['what the part sends', ['--span', 'at rest', '--release', 'pump_state'], /two senders/],
    ['nothing at all', ['--span', 'at rest'], /no frame goes out.*2 could be released/],
  ])('refuses %s', async (_name, more, words) => {
    const ended = await loomscribe(given(...more, '-o', path('refused.log'), '--confirm', 'send gear'));
    expect(ended.code).toBe(1);
    expect(ended.err.replace(/\s+/g, ' ')).toMatch(words);
    expect(existsSync(path('refused.log'))).toBe(false);
  });

  it('does not guess where the marks stand', async () => {
    const args = given('--span', 'at rest', '-o', path('x.log'), '--release', 'gear').filter(
      (word, i, all) => word !== '--marks-offset' && all[i - 1] !== '--marks-offset',
    );
    const ended = await loomscribe(args);
    expect(ended.code).toBe(1);
    expect(ended.err).toMatch(/Give --marks-offset/);
  });
});

describe('a schedule', () => {
  it('sends the payloads of the span, compiles, and is written only for its phrase', async () => {
    const out = path('schedule');
    const args = given('--span', 'at rest', '--schedule', '-o', out, '--release', 'gear', '--release', 'demand');
    const first = await loomscribe(args);
    expect(first.code).toBe(1);
    expect(existsSync(out)).toBe(false);
    const done = await loomscribe([...args, '--confirm', phraseOf(first.err)]);
    expect(done.code, done.err).toBe(0);
    const made = parseMap(readFileSync(join(out, 'signal-map.json'), 'utf8'), 'signal-map.json');
    if (!made.ok) throw new Error(made.problems[0].message);
    expect(made.value.frames.map(restMark)).toEqual(['at rest#1', 'at rest#1', 'at rest#1']);
    expect(made.value.frames[1]?.rest?.payload).toMatch(/^00 00 00 00 00 AA 00 0/);
    const header = readFileSync(join(out, 'signal_map_schedule.h'), 'utf8');
    expect(header).toContain('MAY COMMAND by torque_request');
    expect(header).toContain('High voltage');
    const place = workplace();
    try {
      for (const name of ['signal_map.h', 'signal_map.c', 'signal_map_schedule.h', 'signal_map_schedule.c'])
        place.write(name, readFileSync(join(out, name)));
      for (const name of ['signal_map.c', 'signal_map_schedule.c'])
        place.compile('gcc', ['-std=c99', ...STRICT, '-c', name, '-o', `${name}.o`]);
    } finally {
      place.remove();
    }
  });

  it('its payloads alone go into a map, which sends nothing and asks nothing', async () => {
    const ended = await loomscribe(given('--span', 'at rest', '--rest-into', path('rest.json')));
    expect(ended.code, ended.err).toBe(0);
    const made = parseMap(readFileSync(path('rest.json'), 'utf8'), 'rest.json');
    expect(made.ok && made.value.frames.every((frame) => restMark(frame) === 'at rest#1')).toBe(true);
  });
});

it.each([
  [['--span', 'at rest'], /-o OUT\.log/],
  [['--span', 'at rest', '-o', 'x.csv'], /\.log or \.pcapng/],
  [['--span', 'at rest', '-o', 'x.log', '--loops', '0'], /once at least/],
  [['-o', 'x.log'], /--span/],
])('%j is wrong usage', async (more, words) => {
  const ended = await loomscribe(given(...more));
  expect(ended.code).toBe(2);
  expect(ended.err).toMatch(words);
});
