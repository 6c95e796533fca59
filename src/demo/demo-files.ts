/**
 * The demo as files, in the formats that the workbench reads: two drives, one recording with the inverter unplugged, two of donors that cannot drive, the
 * operator's marks, reference readings, the true map. The same seed gives the same bytes.
 */
import { checkpoint, type Control } from '../kit/control.ts';
import { planOutings, type Outing } from './demo-drives.ts';
import { marksCsv, observeMarks, type OperatorMark } from './marks.ts';
import { DEMO_SEED, makePostVan } from './post-van.ts';
import { readmeText } from './readme-text.ts';
import { recordDrive, type Drive } from './record.ts';
import { referenceCsv, takeReferences, type ReferenceRow } from './reference-readings.ts';
import { restSpan } from './rest-span.ts';
import type { Vehicle } from './true-frame.ts';
import { completeMap } from './true-map.ts';
import { writeCsv } from './writers/csv.ts';
import { writeLogLines } from './writers/log-lines.ts';
import { writePcapng } from './writers/pcapng.ts';

export interface DemoOptions {
  readonly seed?: number;
  /** 1: drives of some five, three and one and a half minutes. */
  readonly scale?: number;
}

export interface DemoFile {
  readonly name: string;
  readonly bytes: Uint8Array;
  /** For a person. */
  readonly what: string;
}

/** Seconds by which the operator's phone is ahead of the logger, in each outing that was marked; null: nobody marked it. */
export const PHONE_AHEAD_S = [2.84 - 0.3, 1.37, null, 0.86, 1.12] as const;

export interface Demo {
  readonly vehicle: Vehicle;
  readonly outings: readonly Outing[];
  readonly drives: readonly Drive[];
  /** For each outing; empty where nobody marked. */
  readonly marks: readonly (readonly OperatorMark[])[];
  readonly references: readonly ReferenceRow[];
}

const WRITERS = [
  {
    write: writeLogLines,
    ending: 'log',
    what: 'Main capture: from asleep over a drive to charging and asleep again, as log lines.',
  },
  {
    write: writePcapng,
    ending: 'pcapng',
    what: 'Another day and power cycle, other order of actions: to hold a map against.',
  },
  { write: writeCsv, ending: 'csv', what: 'Key-on with the inverter unplugged: who falls silent, who reacts.' },
  {
    write: writeLogLines,
    ending: 'log',
    what: 'A donor that cannot drive: its pyro fuse has fired, the key is on, contactors stay open.',
  },
  { write: writeLogLines, ending: 'log', what: 'The inverter alone on the bench: supply and wake line on and off.' },
] as const;

/** Everything of the demo before it is written. */
export async function makeDemo(options: DemoOptions = {}, control: Control = {}): Promise<Demo> {
  const { seed = DEMO_SEED, scale = 1 } = options;
  const vehicle = makePostVan(seed);
  const outings = planOutings(seed, scale);
  const drives: Drive[] = [];
  for (const outing of outings) {
    await checkpoint(control, (0.6 * drives.length) / outings.length, `driving: ${outing.title}`);
    drives.push(recordDrive(vehicle, outing.script, outing.logger));
  }
  const marks = outings.map(({ script, logger, id }, index) => {
    const aheadS = PHONE_AHEAD_S[index] ?? null;
    if (aheadS === null) return [];
    const missed = id.startsWith('drive') ? 1 : 0;
    return observeMarks(script, {
      startEpochS: logger.startEpochS,
      aheadS,
      missed,
      extra: index === 0 ? 1 : 0,
      seed: seed + index,
    });
  });
  const { truth } = drives[0] as Drive;
  const references = takeReferences(truth, {
    startEpochS: (outings[0] as Outing).logger.startEpochS,
    seed,
    readings: 9,
  });
  return { vehicle, outings, drives, marks, references };
}

const text = (content: string): Uint8Array => new TextEncoder().encode(content);

export async function writeDemo(demo: Demo, control: Control = {}): Promise<readonly DemoFile[]> {
  const captures: DemoFile[] = [];
  for (const [index, { write, ending, what }] of WRITERS.entries()) {
    const name = `${(demo.outings[index] as Outing).id}.${ending}`;
    await checkpoint(control, 0.6 + (0.3 * index) / WRITERS.length, `writing ${name}`);
    captures.push({ name, bytes: write((demo.drives[index] as Drive).recording), what });
  }
  await checkpoint(control, 0.9, 'writing the true map');
  const main = demo.drives[0] as Drive;
  const map = completeMap(main.recording, (demo.outings[0] as Outing).title, captures.slice(0, 1), restSpan(main));
  return [
    ...captures,
    {
      name: 'marks-1.csv',
      bytes: text(marksCsv(demo.marks[0] ?? [])),
      what: 'What the operator marked during the first drive, on a phone whose clock is ahead.',
    },
    { name: 'marks-2.csv', bytes: text(marksCsv(demo.marks[1] ?? [])), what: 'The same for the second drive.' },
    { name: 'marks-key-on.csv', bytes: text(marksCsv(demo.marks[3] ?? [])), what: 'The same with the key on only.' },
    { name: 'marks-bench.csv', bytes: text(marksCsv(demo.marks[4] ?? [])), what: 'The same on the bench.' },
    {
      name: 'reference-1.csv',
      bytes: text(referenceCsv(demo.references)),
      what: 'First drive: satellite speed once a second, some meter readings of pack voltage and current.',
    },
    {
      name: 'true-map.json',
      bytes: text(JSON.stringify(map, null, 1) + '\n'),
      what: 'The true signal map, to compare with. A real donor has none.',
    },
    { name: 'README.txt', bytes: text(readmeText()), what: 'What all this is.' },
  ];
}

/** The demo's files; about 37 MB, made in seconds. */
export async function demoFiles(options: DemoOptions = {}, control: Control = {}): Promise<readonly DemoFile[]> {
  return writeDemo(await makeDemo(options, control), control);
}
