import Ajv from 'ajv/dist/2020.js';
import Papa from 'papaparse';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import { fieldsTable } from '../../src/handover/report/sections/frame-fields.ts';
import { USUAL_CAUTIONS } from '../../src/handover/cautions.ts';
import { handoverFiles, type Handover } from '../../src/handover/handover-files.ts';
import { parseMap } from '../../src/map/parse.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { requireGcc, STRICT, workplace, type Workplace } from '../support/compile-c.ts';
import { strangeMarkup } from '../support/report-markup.ts';
import { aChecksum, aCounter, aFrame, aMap, aSelector, aSignal } from '../support/map-parts.ts';

beforeAll(requireGcc);
const places: Workplace[] = [];
afterAll(() => places.forEach((place) => place.remove()));

const textOf = ({ files }: Handover, name: string): string =>
  new TextDecoder().decode(files.find((file) => file.name === name)?.bytes ?? new Uint8Array());

const inverter = aFrame({
  id: '0x1F4',
  name: 'inverter_status',
  role: 'sent-by-part',
  signals: [
    aSignal({
      name: 'speed',
      lsb: { byte: 1, bit: 0 },
      length: 16,
      order: 'big',
      unit: 'rpm',
      observed: { min: 0, max: 9000 },
    }),
  ],
});
const demand = aFrame({
  id: '0x2A0',
  name: 'torque_demand',
  role: 'needed-by-part',
  signals: [
    aSignal({
      name: 'wanted',
      role: 'command',
      lsb: { byte: 0, bit: 0 },
      length: 8,
      unit: 'Nm',
      observed: { min: 0, max: 80 },
    }),
  ],
  counters: [aCounter({ lsb: { byte: 6, bit: 0 }, length: 4, max: 14 })],
  checksums: [aChecksum({ lsb: { byte: 7, bit: 0 }, length: 8, method: 'xor', covers: [0, 1, 2, 3, 4, 5, 6] })],
});
const tag = aFrame({
  id: '0x300',
  name: 'immobiliser',
  role: 'unknown',
  checksums: [aChecksum({ lsb: { byte: 4, bit: 0 }, length: 32, method: 'mac' })],
});
const map = aMap([inverter, demand, tag]);

it('shows in the report that a signal is surer than any other, and never certain unless it is', () => {
  const confidences = [0.999, 0.996, 0.985, 1];
  const frame = aFrame({
    id: '0x1F4',
    name: 'inverter_status',
    signals: confidences.map((confidence, k) =>
      aSignal({ name: `value_${k}`, lsb: { byte: k, bit: 0 }, length: 8, confidence }),
    ),
  });
  expect(fieldsTable(frame).rows.map((row) => row.at(-1))).toEqual(['0.999', '0.996', '0.98', '1.00']);
});

describe('the files of a handover', () => {
  const handover = handoverFiles(map);

  it('hold the map, its schema, C, the plan and the report', () => {
    expect(handover.files.map(({ name }) => name)).toEqual([
      'signal-map.json',
      'signal-map.schema.json',
      'signal_map.h',
      'signal_map.c',
      'keep-alive.md',
      'keep-alive.csv',
      'keep-alive.json',
      'report.html',
      'report.md',
    ]);
    const outcome = parseMap(textOf(handover, 'signal-map.json'), 'signal-map.json');
    expect(outcome.ok && outcome.value).toEqual(JSON.parse(JSON.stringify(map)));
    const schema = JSON.parse(textOf(handover, 'signal-map.schema.json')) as Record<string, unknown>;
    expect(new Ajv({ strict: false }).validate(schema, JSON.parse(JSON.stringify(map)))).toBe(true);
  });

  it('carry the cautions in every file that a person reads', () => {
    for (const name of ['signal_map.h', 'keep-alive.md', 'report.html', 'report.md']) {
      const text = textOf(handover, name).replace(/\s+/g, ' ');
      for (const caution of USUAL_CAUTIONS) expect(text, name).toContain(caution.split(':')[0]);
      expect(text, name).toContain('0 of 2 signals have been proven by sending');
    }
  });

  it('leave out what moves the machine and what cannot be produced, and say why', () => {
    expect(handover.leftOut.map(({ name }) => name)).toEqual(['torque_demand.wanted', 'immobiliser']);
    expect(handoverFiles(map, { release: ['torque_demand.wanted'] }).leftOut.map(({ name }) => name)).toEqual([
      'immobiliser',
    ]);
  });

  it('plan only frames that the part does not send itself', () => {
    const { data } = Papa.parse<Record<string, string>>(textOf(handover, 'keep-alive.csv').trimEnd(), { header: true });
    expect(data.map(({ name }) => name)).toEqual(['torque_demand', 'immobiliser']);
    expect(data[0]).toMatchObject({
      period_ms: '10',
      rest_payload: '00 00 00 00 00 00 00 00',
      need: 'untested',
      can_be_produced: 'yes',
      may_command: 'yes: wanted',
    });
    expect(data[1]?.['can_be_produced']).toContain('secret');
  });
});

describe('names and notes from strangers do no harm', () => {
  const hostile = [
    '<script>alert(1)</script>',
    '"><img src=x onerror=alert(1)>',
    '=cmd|x',
    '@SUM(1)',
    '| a | b |',
    '`code`',
    '[x](javascript:alert(1))',
    '*/ int x; /*',
    'a\n# heading',
    '&lt;',
    '\u202egnp',
  ];
  const frames: MapFrame[] = hostile.map((name, i) =>
    aFrame({
      id: `0x${(0x100 + i).toString(16).toUpperCase()}`,
      name,
      bus: name,
      sender: { group: name, name, confidence: 1 },
      signals: [aSignal({ name, unit: name, notes: name, lsb: { byte: 0, bit: 0 }, length: 4, states: { '0': name } })],
      counters: [aCounter({ name, lsb: { byte: 1, bit: 0 }, length: 4 })],
      selectors: [aSelector({ name, lsb: { byte: 2, bit: 0 }, length: 4 })],
    }),
  );
  const hostileMap: SignalMap = aMap(frames, {
    part: { title: hostile.join(' '), donor: hostile.join(' '), notes: hostile.join('\n') },
    captures: [{ id: 'c1', title: hostile[0] ?? '', files: [{ name: hostile[1] ?? '', bytes: 1, sha256: '' }] }],
  });
  const handover = handoverFiles(hostileMap);

  it('in HTML: no tag and no attribute that the report does not write itself', () => {
    const html = textOf(handover, 'report.html');
    expect(strangeMarkup(html)).toEqual([]);
    expect(html.match(/<meta /g)).toHaveLength(3);
    expect(html).not.toMatch(/<script|<img|\u202e/i);
  });

  it('in Markdown: no raw HTML, no link, no new line or cell', () => {
    for (const name of ['report.md', 'keep-alive.md']) {
      const text = textOf(handover, name);
      expect(text).not.toMatch(/<[a-z!/]/i);
      expect(text).not.toMatch(/[^\\]\]\(/);
      expect(text).not.toMatch(/^# heading/m);
      expect(text).not.toContain('\u202e');
    }
    const tables = textOf(handover, 'keep-alive.md')
      .split('\n\n')
      .map((part) => part.split('\n').filter((line) => line.startsWith('| ')))
      .filter((rows) => rows.length > 0);
    expect(tables).toHaveLength(2);
    for (const rows of tables)
      expect(new Set(rows.map((row) => row.replace(/\\\|/g, '').split('|').length)).size).toBe(1);
  });

  it('in CSV: no formula, no torn row', () => {
    const { data, errors } = Papa.parse<string[]>(textOf(handover, 'keep-alive.csv').trimEnd());
    expect(errors).toEqual([]);
    expect(data.flat().filter((cell) => /^\s*[=+\-@\t]/.test(cell))).toEqual([]);
    expect(data).toHaveLength(frames.length + 1);
  });

  it('in C: it compiles', () => {
    const place = workplace();
    places.push(place);
    place.write('signal_map.h', textOf(handover, 'signal_map.h'));
    place.write('signal_map.c', textOf(handover, 'signal_map.c'));
    place.compile('gcc', ['-std=c99', ...STRICT, '-c', 'signal_map.c', '-o', 'x.o']);
  });
});
