/**
 * The words that name a capture and how it is read: files, BUS=FILE, standard input, a dossier; bit rates,
 * columns, zone. The same for every verb that takes a capture.
 */
import { existsSync } from 'node:fs';
import type { ReadOptions } from '../frames/reading-types.ts';
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

/** "BUS=FILE" unless a file of that very name exists. */
export function captureFile(word: string): CaptureFile {
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

/** Named rates, and the rate for buses that none names, if given. */
export interface GivenRates {
  readonly named: BusRates;
  readonly forAll: BusRates[string] | null;
}

export function givenRates(parsed: ParsedWords): GivenRates {
  const named: Record<string, BusRates[string]> = {};
  let forAll: BusRates[string] | null = null;
  for (const text of parsed.many('bitrate')) {
    const match = RATE.exec(text);
    if (!match)
      throw new WrongUsage(
        `--bitrate takes BUS=RATE or BUS=RATE/DATARATE in bit/s, such as can0=500000, not "${text}".`,
      );
    const rate = { bitrate: Number(match[2]), dataBitrate: match[3] ? Number(match[3]) : null };
    if (rate.bitrate < 5_000 || rate.bitrate > 1_000_000) {
      throw new WrongUsage(`--bitrate ${text}: a bus runs at 5,000 to 1,000,000 bit/s in its first phase.`);
    }
    if (match[1]) named[match[1]] = rate;
    else forAll = rate;
  }
  return { named, forAll };
}

export function ratesFor(buses: readonly string[], given: GivenRates): BusRates {
  const rates: Record<string, BusRates[string]> = { ...given.named };
  for (const bus of buses) {
    const rate = rates[bus] ?? given.forAll;
    if (rate) rates[bus] = rate;
  }
  return rates;
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
