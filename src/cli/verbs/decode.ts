/** `decode`: physical values over time, as a file. */
import { extname } from 'node:path';
import type { DecodeOptions } from '../../handover/decode-capture.ts';
import { RESAMPLE_RULES, type Resampling, type ResampleRule } from '../../handover/decode-samples.ts';
import { WrongUsage, type ParsedWords } from '../arguments.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { prepareOutput } from '../files.ts';
import { inputsFrom } from '../inputs.ts';
import { runTask } from '../run-task.ts';
import { grouped } from '../text-table.ts';
import type { Verb } from '../verb.ts';

const FORMATS = { '.csv': 'csv', '.jsonl': 'jsonl', '.parquet': 'parquet' } as const;

function formatOf(path: string): 'csv' | 'jsonl' | 'parquet' {
  const ending = extname(path).toLowerCase();
  if (ending in FORMATS) return FORMATS[ending as keyof typeof FORMATS];
  throw new WrongUsage(`-o ${path}: the ending says the format, so it must be .csv, .jsonl or .parquet.`);
}

const PER_SECOND = { us: 1e6, ms: 1e3, s: 1 } as const;

/** "10ms", "0.1s" or "100Hz", as microseconds between two instants. */
function stepOf(text: string): number {
  const [, figure = '', unit = ''] = /^(\d+(?:\.\d+)?)\s*(us|ms|s|hz)$/i.exec(text.trim()) ?? [];
  const value = Number(figure);
  const low = unit.toLowerCase();
  const stepUs = low === 'hz' ? 1e6 / value : (value / PER_SECOND[(low || 's') as keyof typeof PER_SECOND]) * 1e6;
  if (figure !== '' && stepUs >= 1 && Number.isFinite(stepUs)) return stepUs;
  throw new WrongUsage(`--resample ${text}: write the step as 10ms, 0.1s or 100Hz; at least 1us.`);
}

function secondsOf(parsed: ParsedWords, name: string): number | undefined {
  const text = parsed.one(name);
  if (text === undefined) return undefined;
  const value = text.trim() === '' ? Number.NaN : Number(text);
  if (Number.isFinite(value)) return value;
  throw new WrongUsage(`--${name} ${text}: write seconds, such as 12.5.`);
}

function resamplingOf(parsed: ParsedWords): Resampling | undefined {
  const step = parsed.one('resample');
  const rule = parsed.one('rule') ?? 'hold';
  const reachS = secondsOf(parsed, 'reach');
  if (!(RESAMPLE_RULES as readonly string[]).includes(rule))
    throw new WrongUsage(`--rule ${rule}: there are ${RESAMPLE_RULES.join(', ')}.`);
  if (reachS !== undefined && reachS < 0) throw new WrongUsage('--reach: no less than 0 seconds.');
  if (step === undefined) {
    if (parsed.has('rule') || parsed.has('reach'))
      throw new WrongUsage('--rule and --reach say how to resample: give --resample too.');
    return undefined;
  }
  const reach = reachS === undefined ? {} : { reachUs: reachS * 1e6 };
  return { stepUs: stepOf(step), rule: rule as ResampleRule, ...reach };
}

/** Names may hold commas themselves, but rarely do. */
const namesOf = (parsed: ParsedWords): string[] =>
  parsed
    .many('signals')
    .flatMap((text) => text.split(','))
    .map((name) => name.trim())
    .filter((name) => name !== '');

function decodeOptions(parsed: ParsedWords, output: string): DecodeOptions {
  const [fromS, toS, resample] = [secondsOf(parsed, 'from'), secondsOf(parsed, 'to'), resamplingOf(parsed)];
  return {
    format: formatOf(output),
    form: parsed.has('wide') ? 'wide' : 'long',
    busMap: givenBusMap(parsed),
    signals: namesOf(parsed),
    ...(fromS === undefined ? {} : { fromS }),
    ...(toS === undefined ? {} : { toS }),
    ...(resample ? { resample } : {}),
  };
}

export const decode: Verb = {
  name: 'decode',
  summary: 'physical values over time by a map, as .csv, .jsonl or .parquet',
  usage: 'CAPTURE... --map MAP -o OUT [--wide] [--resample STEP] [--signals NAME,...] [--json]',
  about:
    "Decodes every frame that the map describes. Long form: a row a value; with --wide a row a frame and a column a signal. Parquet columns are typed and carry their units as metadata.\nWith --resample all signals come at common instants, whole multiples of STEP from the capture's first frame. Nothing is made up where nothing was measured: a value reaches three times its own median spacing, or --reach; what is farther away stays empty. Parquet metadata says the rule and each reach.",
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map' },
    { name: 'output', short: 'o', value: 'OUT', required: true, help: 'file to write: .csv, .jsonl or .parquet' },
    { name: 'wide', help: 'a row a frame, a column a signal' },
    {
      name: 'signals',
      value: 'NAME,...',
      repeats: true,
      help: 'only these: FRAME.SIGNAL, or the name of a frame or of a signal',
    },
    { name: 'from', value: 'S', help: "from this time: seconds from the capture's first frame, or epoch seconds" },
    { name: 'to', value: 'S', help: 'up to and with this time' },
    { name: 'resample', value: 'STEP', help: 'values on a common grid of time: 10ms, 0.1s or 100Hz' },
    {
      name: 'rule',
      value: 'RULE',
      help: 'hold (default): the last value; mean: of the values in the step that ends there; linear: between neighbours. States and texts are always held',
    },
    { name: 'reach', value: 'S', help: 'how far a value reaches, in seconds' },
    busMapOption("map bus MAPBUS is the capture's bus BUS"),
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe decode drive-2.pcapng --map map.json -o drive-2.parquet',
  async run(parsed, terminal) {
    const output = parsed.one('output') as string;
    const decode = decodeOptions(parsed, output);
    const { capture } = await inputsFrom(parsed, terminal);
    prepareOutput(output);
    const summary = await runTask('decode', { ...capture, map: parsed.one('map') as string, output, decode }, terminal);
    terminal.print(
      parsed.has('json')
        ? JSON.stringify(summary, null, 2)
        : `${grouped(summary.rows)} rows of ${grouped(summary.signals)} signals in ${output}${summary.resampled ? `\n${summary.resampled.words}` : ''}`,
    );
  },
};
