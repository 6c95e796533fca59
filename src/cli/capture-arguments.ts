/**
 * The words that name a capture and how it is read: files, BUS=FILE, standard input, a dossier; bit rates,
 * columns, zone. The same for every verb that takes a capture.
 */
import { existsSync } from 'node:fs';
import { basename } from 'node:path';
import type { ReadOptions } from '../frames/reading-types.ts';
import { grouped } from '../kit/figures.ts';
import type { BusRates } from '../timing/types.ts';
import type { OptionSpec, ParsedWords } from './arguments.ts';
import { WrongUsage } from './arguments.ts';

/** One file of a capture as the command line names it; "-" is standard input. */
export interface CaptureFile {
  readonly path: string;
  readonly bus?: string;
}

export const CAPTURE_OPTIONS: readonly OptionSpec[] = [
  {
    name: 'columns',
    value: 'TEXT',
    repeats: true,
    help: 'what each column of a table is, where that is not found by itself; FILE::TEXT for one file of several (docs/formats.md)',
  },
  { name: 'tz', value: 'ZONE', help: 'zone of date stamps that name none: UTC (default) or +02:00' },
];

export const RATE_OPTION: OptionSpec = {
  name: 'bitrate',
  value: 'BUS=RATE',
  repeats: true,
  help: 'bit/s of a bus, can0=500000 or can0=500000/2000000 with a data phase; without it the load is unknown',
};

export const DOSSIER_OPTION: OptionSpec = {
  name: 'dossier',
  value: 'FILE',
  help: 'takes captures, marks, references and bit rates from a dossier saved by the workbench',
};

export const JSON_OPTION: OptionSpec = {
  name: 'json',
  help: 'print one JSON document on standard output and nothing else',
};

/** What a capture is called where nobody named it. */
export const titleOf = (files: readonly CaptureFile[]): string => files.map(({ path }) => basename(path)).join(', ');

/** @throws WrongUsage where standard input is named twice: it can be read once. */
export function captureFiles(words: readonly string[], taken: readonly CaptureFile[] = []): CaptureFile[] {
  const files = words.map(captureFile);
  if ([...taken, ...files].filter(({ path }) => path === '-').length > 1) {
    throw new WrongUsage('Standard input (-) can be named once only.');
  }
  return files;
}

/** "BUS=FILE" unless a file of that very name exists. */
function captureFile(word: string): CaptureFile {
  const match = /^([A-Za-z][\w.-]*)=(.+)$/.exec(word);
  if (!match || existsSync(word)) return { path: word };
  return { path: match[2] as string, bus: match[1] as string };
}

export function readOptions(parsed: ParsedWords): ReadOptions {
  const columns: Record<string, string> = {};
  for (const text of parsed.many('columns')) {
    const split = text.indexOf('::');
    if (split < 0) columns['*'] = text;
    else columns[text.slice(0, split)] = text.slice(split + 2);
  }
  const zone = parsed.one('tz');
  if (zone !== undefined && !/^(UTC|Z|[+-]\d{2}:?\d{2})$/.test(zone)) {
    throw new WrongUsage(`--tz takes UTC or an offset such as +02:00, not "${zone}".`);
  }
  return { ...(parsed.has('columns') ? { columns } : {}), ...(zone ? { zone } : {}) };
}

const RATE = /^(?:([^=]+)=)?(\d+)(?:\/(\d+))?$/;

/** Named rates, the rate for buses that none names, if given, and what a dossier keeps. */
export interface GivenRates {
  readonly named: BusRates;
  readonly forAll: BusRates[string] | null;
  readonly kept: BusRates;
}

type BusRate = BusRates[string];
const FIRST_PHASE = { least: 5_000, most: 1_000_000 };
/** CAN FD transceivers end at 8 Mbit/s; some room above. */
const DATA_PHASE = { least: 5_000, most: 20_000_000 };

function checkRate(rate: number | null, text: string, { least, most }: typeof DATA_PHASE, phase: string): void {
  if (rate === null || (rate >= least && rate <= most)) return;
  const span = `${grouped(least)} to ${grouped(most)} bit/s`;
  throw new WrongUsage(`--bitrate ${text}: a bus runs at ${span} in its ${phase}.`);
}

function parseRate(text: string): { bus: string | undefined; rate: BusRate } {
  const match = RATE.exec(text);
  if (!match) {
    const shape = 'BUS=RATE or BUS=RATE/DATARATE in bit/s, such as can0=500000';
    throw new WrongUsage(`--bitrate takes ${shape}, not "${text}".`);
  }
  const rate = { bitrate: Number(match[2]), dataBitrate: match[3] ? Number(match[3]) : null };
  checkRate(rate.bitrate, text, FIRST_PHASE, 'first phase');
  checkRate(rate.dataBitrate, text, DATA_PHASE, 'data phase');
  return { bus: match[1], rate };
}

/** @param kept rates of a dossier, by bus: words win over them. */
export function givenRates(parsed: ParsedWords, kept: BusRates = {}): GivenRates {
  const named: Record<string, BusRate> = {};
  let forAll: BusRate | null = null;
  for (const { bus, rate } of parsed.many('bitrate').map(parseRate)) {
    if (bus === undefined) forAll = rate;
    else named[bus] = rate;
  }
  return { named, forAll, kept };
}

export function ratesFor(buses: readonly string[], given: GivenRates): BusRates {
  const rateOf = (bus: string): BusRate | undefined => given.named[bus] ?? given.forAll ?? given.kept[bus];
  return Object.fromEntries(
    buses.flatMap((bus): [string, BusRate][] => {
      const rate = rateOf(bus);
      return rate ? [[bus, rate]] : [];
    }),
  );
}

/** Names given for a bus that the capture does not have are a slip worth stopping at. */
export function checkRateNames(buses: readonly string[], given: GivenRates): void {
  const unknown = Object.keys(given.named).find((name) => !buses.includes(name));
  if (unknown) {
    throw new WrongUsage(
      `--bitrate names the bus "${unknown}", but this capture has ${buses.map((b) => `"${b}"`).join(', ')}.`,
    );
  }
}
