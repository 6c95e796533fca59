/** `excerpt`: what can be sent, from a span marked at rest: a part of a capture, or a schedule in C. */
import { extname } from 'node:path';
import { parseSpan } from '../../handover/sending/asked-span.ts';
import { parseMap } from '../../map/parse.ts';
import { wholeOf, WrongUsage, type ParsedWords } from '../arguments.ts';
import { busMapOption, givenBusMap } from '../bus-map.ts';
import { CAPTURE_OPTIONS, DOSSIER_OPTION, JSON_OPTION } from '../capture-arguments.ts';
import { CODE_OPTIONS } from '../code-choices.ts';
import { writePart, writeRest, writeSchedule, type ExcerptOutput, type ExcerptSetting } from '../excerpt-writing.ts';
import { PART_OPTION, withPart } from '../handover-inputs.ts';
import { inputsFrom } from '../inputs.ts';
import { parseFile } from '../tasks/context.ts';
import type { Verb } from '../verb.ts';
import { MARK_OPTIONS } from './link.ts';

function outputOf(parsed: ParsedWords): ExcerptOutput {
  const [output, rest] = [parsed.one('output'), parsed.one('rest-into')];
  if ((output === undefined) === (rest === undefined))
    throw new WrongUsage('Say what to write: -o OUT.log, -o OUT.pcapng, --schedule -o DIR, or --rest-into MAP.');
  if (rest !== undefined) return { kind: 'rest', path: rest };
  const path = output as string;
  if (parsed.has('schedule')) return { kind: 'schedule', path };
  const ending = extname(path).toLowerCase();
  if (ending === '.log') return { kind: 'log', path };
  if (ending === '.pcapng') return { kind: 'pcapng', path };
  throw new WrongUsage(
    `-o ${path}: the ending says the format, so it must be .log or .pcapng; a folder with --schedule.`,
  );
}

function loopsOf(parsed: ParsedWords, { kind }: ExcerptOutput): number {
  const loops = parsed.has('loops') ? wholeOf(parsed.one('loops') as string, 'loops') : 1;
  if (loops < 1) throw new WrongUsage('--loops: once at least.');
  if (kind !== 'log' && kind !== 'pcapng' && (parsed.has('loops') || parsed.has('recount')))
    throw new WrongUsage('--loops and --recount are for parts of a capture; a schedule counts by itself.');
  return loops;
}

export const excerpt: Verb = {
  name: 'excerpt',
  summary: 'what can be sent, from a span marked at rest: a part of a capture, or a schedule in C',
  usage: 'CAPTURE... --map MAP --marks F --span SPAN -o OUT [--release FRAME] [--confirm PHRASE]',
  about:
    'Writes frames that can be played to a part on a bench: as log lines (.log), as packets (.pcapng), or with --schedule as C that sends with live counters and checksums. Only from a span that a person marked as at rest (park, no pedal, not charging), without its ends, and only where the signals of the map bear it out.\nNo frame goes out by itself: release those you mean to send one by one, by name. What the part sends itself never goes out, nor what cannot be produced. Without --confirm nothing is written: the cautions are said, and the phrase to type. With --rest-into a map is written whose payloads at rest are those of the span; nothing is sent by it.',
  options: [
    { name: 'map', value: 'MAP', required: true, help: 'the signal map' },
    {
      name: 'span',
      value: 'SPAN',
      required: true,
      help: 'words of the mark, such as "at rest" or "at rest#2"; or FROM:TO in seconds of the capture, within such a mark',
    },
    { name: 'output', short: 'o', value: 'OUT', help: 'file to write, .log or .pcapng; a folder with --schedule' },
    { name: 'schedule', help: 'C code that sends: encoder, schedule, map' },
    {
      name: 'rest-into',
      value: 'MAP',
      help: 'writes the map with the payloads at rest of the span, and sends nothing',
    },
    {
      name: 'release',
      value: 'FRAME',
      repeats: true,
      help: 'lets this frame out: its name in the map, or can0/0x1F4 (can0/0x18FF50E5x with 29 bits)',
    },
    { name: 'confirm', value: 'PHRASE', help: 'what you were told to type once you have read the cautions' },
    { name: 'loops', value: 'N', help: 'the span so many times, one after the other' },
    { name: 'recount', help: 'counters run on and checksums are made anew; else all bytes are as recorded' },
    PART_OPTION,
    { name: 'prefix', value: 'NAME', help: 'with --schedule, before every C name (default sm)' },
    ...CODE_OPTIONS.filter(({ name }) => name !== 'filters'),
    ...MARK_OPTIONS,
    busMapOption("the map's bus A is the capture's bus B"),
    DOSSIER_OPTION,
    ...CAPTURE_OPTIONS,
    JSON_OPTION,
  ],
  example: 'loomscribe excerpt key-on.log --map map.json --marks m.csv --span "at rest" --release gear -o rest.log',
  async run(parsed, terminal) {
    const output = outputOf(parsed);
    const loops = loopsOf(parsed, output);
    const inputs = await inputsFrom(parsed, terminal);
    const { marks } = inputs;
    if (!marks)
      throw new WrongUsage('--marks FILE: a span is taken only where a person marked that the vehicle was at rest.');
    const map = withPart(await parseFile(parsed.one('map') as string, parseMap, terminal), parsed);
    const asked: ExcerptSetting['asked'] = {
      span: parseSpan(parsed.one('span') as string),
      release: parsed.many('release'),
      kind: output.kind === 'schedule' ? 'rest' : output.kind,
      loops,
      recount: parsed.has('recount'),
      confirm: parsed.one('confirm') ?? null,
      busMap: givenBusMap(parsed),
    };
    const setting: ExcerptSetting = { parsed, terminal, inputs: { ...inputs, marks }, map, output, asked };
    if (output.kind === 'schedule') await writeSchedule(setting);
    else if (output.kind === 'rest') await writeRest(setting);
    else await writePart(setting);
  },
};
