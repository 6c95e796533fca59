/** The worked example of docs/signal-map.md: every reader says of its payloads what the page says. */
import { readFileSync } from 'node:fs';
import { afterAll, beforeAll, describe, expect, it } from 'vitest';
import type { Decoded } from '../../docs/readers/typescript/read-signal-map.ts';
import { compileFrame } from '../../src/map/decode.ts';
import { parseMap } from '../../src/map/parse.ts';
import { parsePayload } from '../../src/map/raw-values.ts';
import { printMap } from '../../src/map/print.ts';
import type { MapFrame, SignalMap } from '../../src/map/schema.ts';
import { vectorOf } from '../handover/maps/expected.ts';
import { build, holdOutput, recordsFor, runChecked } from '../handover/maps/hold-case.ts';
import { freeMap, type Vector } from '../handover/maps/map-case.ts';
import { leaveOutIf, PYTHON } from '../handover/maps/toolchains.ts';
import { requireGcc } from '../support/compile-c.ts';
import { CommandLineReaders, inTypeScript, type AskedFrame } from './run-readers.ts';

const page = readFileSync(new URL('../../docs/signal-map.md', import.meta.url), 'utf8');
const example = /```json\n([\s\S]*?)```/.exec(page)?.[1] ?? '';

function mapOfPage(): SignalMap {
  const outcome = parseMap(example, 'docs/signal-map.md');
  if (!outcome.ok) throw new Error(JSON.stringify(outcome.problems));
  return outcome.value;
}
const map = mapOfPage();

/** "speed -100, level none" by name; null where there is none. */
const pairsOf = (text: string): [string, number | null][] =>
  text.split(',').map((pair) => {
    const [name = '', value = ''] = pair.trim().split(' ');
    return [name, value === 'none' ? null : Number(value)];
  });

/** Rows of the table that says what readers must say. */
const rows: readonly Vector[] = [
  ...page.matchAll(/^\| `(\w+)` *\| `((?:[0-9A-F]{2} ?){8})` *\| ([^|]+) \| ([^|]+) \| (holds|fails) *\|$/gm),
].map(([, name, payload = '', values = '', counter = '', checksum]) => ({
  index: map.frames.findIndex((frame) => frame.name === name),
  payload,
  values: Object.fromEntries(pairsOf(values)),
  counters: Object.fromEntries(pairsOf(counter)) as Record<string, number>,
  holds: [checksum === 'holds'],
}));

const bytesOf = ({ payload }: Vector): Uint8Array => parsePayload(payload) ?? new Uint8Array();
const frameOf = ({ index }: Vector): MapFrame => map.frames[index] as MapFrame;

/** What a reader said, in the shape of a row. */
const said = ({ index, payload }: Vector, decoded: Decoded): Vector => ({
  index,
  payload,
  values: Object.fromEntries(decoded.signals.map(({ name, value }) => [name, value])),
  counters: Object.fromEntries(decoded.counters.map(({ name, value }) => [name, value])),
  holds: decoded.checksums.map((holds) => holds === true),
});

const frames = rows.map((row): AskedFrame => {
  const { bus, id, extended } = frameOf(row);
  return { bus, id: Number(id), extended, payload: bytesOf(row) };
});

describe('the example of the page about the signal map', () => {
  let commands: CommandLineReaders;
  beforeAll(() => {
    requireGcc();
    commands = new CommandLineReaders();
  }, 120_000);
  afterAll(() => commands.place.remove());

  it('has payloads of every frame', () => {
    expect(rows.length).toBeGreaterThanOrEqual(5);
    expect(new Set(rows.map(({ index }) => index))).toEqual(new Set(map.frames.keys()));
  });

  it('is decoded by the program as the page says', () => {
    for (const row of rows)
      expect(vectorOf(row.index, row.payload, compileFrame(frameOf(row)).decode(bytesOf(row)))).toEqual(row);
  });

  const told = (answers: Decoded[]): Vector[] => rows.map((row, i) => said(row, answers[i] as Decoded));
  it('by the reader in TypeScript', () => expect(told(inTypeScript(example, frames))).toEqual(rows));
  it('by the reader in C', () => expect(told(commands.inC(example, frames))).toEqual(rows));
  it('by the reader in Python', ({ skip }) => {
    leaveOutIf(PYTHON, skip);
    expect(told(commands.inPython(example, frames))).toEqual(rows);
  });

  it('by the generated C as by the program, and encoded to the same bytes', () => {
    const capture = rows.map((row) => ({ index: row.index, payload: bytesOf(row) }));
    const whole = { name: 'page', map: freeMap(map, () => undefined), capture, vectors: rows };
    const built = build(whole);
    const { troubles, frames: n } = holdOutput(whole, built.code, runChecked(built, 'gcc', recordsFor(whole)));
    built.place.remove();
    expect(troubles).toEqual([]);
    expect(n).toBe(rows.length);
  });

  it('is printed by the program with nothing added or lost', () => {
    expect(JSON.parse(printMap(map))).toEqual(JSON.parse(example));
  });
});
