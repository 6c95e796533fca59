/** Texts of a map from a stranger in what is made beside the handover: decoded values, logs, instructions for trials, the list of what was blanked. */
import Papa from 'papaparse';
import { describe, expect, it } from 'vitest';
import { buildTable } from '../../../src/frames/build-table.ts';
import { ByteWriter } from '../../../src/frames/writers/byte-writer.ts';
import { logLinesWriter } from '../../../src/frames/writers/log-lines.ts';
import { exportTrial, trialFiles, type TrialToRun } from '../../../src/handover/bench/trial-files.ts';
import { newBench } from '../../../src/handover/bench/record.ts';
import { decodeCapture, type DecodeOptions } from '../../../src/handover/decode-capture.ts';
import { keepAlivePlan } from '../../../src/handover/needs/plan.ts';
import type { BlankedList } from '../../../src/handover/publish/list.ts';
import { blankedMarkdown } from '../../../src/handover/publish/list-text.ts';
import { frameKey } from '../../../src/map/identifiers.ts';
import type { SignalMap } from '../../../src/map/schema.ts';
import { harmlessMap, HOSTILE, hostileMap } from './hostile-map.ts';
import { blockShape, UNSHOWABLE } from './markup.ts';

async function decoded(map: SignalMap, options: DecodeOptions): Promise<string> {
  const frames = map.frames.map(({ bus, id }, i) => {
    const data = [1, 200 - (i % 50), 255, 0, 0, 1, 0, 0];
    return { timeUs: i * 1000, bus, id: Number(id), extended: false, fdFlags: 0, data };
  });
  const parts: Uint8Array[] = [];
  const outcome = await decodeCapture(buildTable(frames), map, options, {
    write: (bytes) => void parts.push(bytes.slice()),
  });
  if (!outcome.ok) throw new Error(outcome.problems[0].message);
  return Buffer.concat(parts).toString();
}

const isFormula = (cell: string): boolean =>
  /^\s*[=+@\t\r]/.test(cell) || (/^\s*-/.test(cell) && Number.isNaN(Number(cell)));

describe('decoded values', () => {
  it.each(['long', 'wide'] as const)(
    'as CSV, %s: rows and columns as with harmless names, and no formula',
    async (form) => {
      const rowsOf = async (map: SignalMap): Promise<string[][]> =>
        Papa.parse<string[]>((await decoded(map, { format: 'csv', form })).trimEnd()).data;
      const [theirs, ours] = [await rowsOf(hostileMap()), await rowsOf(harmlessMap())];
      expect(theirs.map((row) => row.length)).toEqual(ours.map((row) => row.length));
      expect(theirs.length).toBeGreaterThan(HOSTILE.length);
      expect(theirs.flat().filter(isFormula)).toEqual([]);
    },
  );

  it('as JSON lines: each line an object, names as they are', async () => {
    const lines = (await decoded(hostileMap(), { format: 'jsonl' })).trimEnd().split('\n');
    const rows = lines.map((line) => JSON.parse(line) as Record<string, unknown>);
    const names = new Set(rows.map((row) => row['frame']));
    for (const text of HOSTILE) if (!text.includes('\ud800')) expect(names).toContain(text);
  });
});

it('a log has one line a frame, of three words, whatever a bus is called', () => {
  const out = new ByteWriter(4096);
  const writer = logLinesWriter({ buses: HOSTILE, start: { seconds: 0, us: 0 }, directed: false });
  writer.head(out);
  const common = { id: 0x123, extended: false, fdFlags: 0, direction: 'received', payload: Uint8Array.of(1) } as const;
  HOSTILE.forEach((_, bus) => writer.frame(out, bus, { ...common, bus }));
  const lines = new TextDecoder().decode(out.finish()).trimEnd().split('\n');
  expect(lines).toHaveLength(HOSTILE.length);
  expect(lines.filter((line) => !/^\(\d+\.\d+\) [\x21-\x7e]+ 123#01$/.test(line))).toEqual([]);
});

function trialText(map: SignalMap): string {
  const plan = keepAlivePlan(map);
  const release = map.frames.filter(({ role }) => role === 'needed-by-part').map(frameKey);
  const record = newBench(map, plan, { release });
  if (!record.ok) throw new Error(record.problems[0].message);
  const trial: TrialToRun = { number: 1, aim: 'everything', sent: release.slice(0, 12), sleepS: 20, settleS: 12 };
  const made = exportTrial(map, plan, record.value, trial);
  if (!made.ok) throw new Error(made.problems[0].message);
  const files = trialFiles(map, record.value, made.value, made.value.phrase) ?? [];
  return files.find(({ name }) => name.endsWith('.md'))?.text ?? '';
}

it('instructions for a trial have the lines that they have with harmless names', () => {
  const [theirs, ours] = [trialText(hostileMap()), trialText(harmlessMap())];
  expect(theirs.length).toBeGreaterThan(500);
  expect(blockShape(theirs)).toEqual(blockShape(ours));
  expect(theirs).not.toMatch(UNSHOWABLE);
});

function listText(texts: readonly string[]): string {
  const list: BlankedList = {
    blanked: [],
    kept: [],
    offered: [],
    frames: texts.map((bus, i) => ({
      bus,
      id: '0x1',
      extended: false,
      changed: i,
      leftOut: 0,
      reason: texts[i] as string,
    })),
    framesWritten: 1,
    framesChanged: 1,
    framesLeftOut: 0,
    remoteFrames: 0,
    errorFrames: 0,
    textsChanged: 1,
    restsDropped: texts,
    timesHidden: true,
    searched: 'All of it.',
    cannotFind: [],
  };
  return blankedMarkdown(list);
}

it('the list of what was blanked has the lines that it has with harmless names', () => {
  const theirs = listText(HOSTILE);
  expect(blockShape(theirs)).toEqual(blockShape(listText(HOSTILE.map((_, i) => `word ${i}`))));
  expect(theirs).not.toMatch(UNSHOWABLE);
});
