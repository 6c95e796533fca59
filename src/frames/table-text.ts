/**
 * Text pictures of tables: one frame a line, in time order, for tests that people can read.
 *
 *     0.000000 can0 1F4 00 10 FF
 *     0.010000 can0 18FEF100x sent 01
 *     0.010000 can1 123 fd+brs 00 11 22 33 44 55 66 77 88 99 AA BB
 *
 * Seconds from the origin, bus, identifier (x: extended), `sent` and FD flags where they apply, payload.
 */
import { hexDigits } from '../kit/units.ts';
import { buildTable, type PlainFrame } from './build-table.ts';
import type { ClockOrigin, FrameTable, Stream } from './table.ts';
import { FD_BIT_RATE_SWITCH, FD_ERROR_STATE, FD_FORMAT, payloadAt } from './table.ts';

const FLAG_WORDS = [
  [FD_FORMAT, 'fd'],
  [FD_BIT_RATE_SWITCH, 'brs'],
  [FD_ERROR_STATE, 'esi'],
] as const;

interface Line {
  readonly timeUs: number;
  readonly arrival: number;
  readonly text: string;
}

export function tableToText(table: FrameTable): string {
  const lines: Line[] = [];
  for (const stream of table.streams) for (let row = 0; row < stream.count; row++) lines.push(lineOf(stream, row));
  lines.sort((a, b) => a.timeUs - b.timeUs || a.arrival - b.arrival);
  return lines.map(({ text }) => text + '\n').join('');
}

function lineOf(stream: Stream, row: number): Line {
  const timeUs = stream.timeUs[row] as number;
  const id = hexDigits(stream.id, stream.extended ? 8 : 3) + (stream.extended ? 'x' : '');
  const flags = stream.fdFlags ? flagsText(stream.fdFlags[row] as number) : '';
  const bytes = [...payloadAt(stream, row)].map((byte) => hexDigits(byte, 2));
  const sent = stream.direction === 'sent' ? 'sent' : '';
  const words = [secondsText(timeUs), stream.bus, id, sent, flags, ...bytes].filter((word) => word !== '');
  return { timeUs, arrival: stream.arrival[row] as number, text: words.join(' ') };
}

/** Whole microseconds as six decimals, nanoseconds as nine. */
function secondsText(timeUs: number): string {
  const nanoseconds = Math.round((timeUs - Math.floor(timeUs)) * 1000);
  const whole = Math.floor(timeUs);
  const fraction = String(whole % 1e6).padStart(6, '0') + (nanoseconds ? String(nanoseconds).padStart(3, '0') : '');
  return `${Math.floor(whole / 1e6)}.${fraction}`;
}

const flagsText = (flags: number): string =>
  FLAG_WORDS.filter(([bit]) => flags & bit)
    .map(([, word]) => word)
    .join('+');

/** The reverse. Empty lines and lines that start with # are skipped. @throws Error for anything else. */
export function tableFromText(text: string, origin?: ClockOrigin): FrameTable {
  return buildTable(framesFromText(text), origin);
}

export function framesFromText(text: string): PlainFrame[] {
  const lines = text.split('\n').map((line) => line.trim());
  return lines.filter((line) => line !== '' && !line.startsWith('#')).map(parseLine);
}

function parseLine(line: string): PlainFrame {
  const [time, bus, id, ...rest] = line.split(/\s+/);
  const idParts = /^([0-9A-Fa-f]+)(x?)$/.exec(id ?? '');
  const timeParts = /^(\d+)(?:\.(\d{1,9}))?$/.exec(time ?? '');
  if (!bus || !idParts || !timeParts) throw new Error(`not a frame: "${line}"`);
  const sent = rest[0] === 'sent';
  if (sent) rest.shift();
  const flags = /^(fd|brs|esi)/.test(rest[0] ?? '') ? flagsFrom(rest.shift() as string) : 0;
  if (!rest.every((byte) => /^[0-9A-Fa-f]{2}$/.test(byte))) throw new Error(`not a payload: "${line}"`);
  const nanoseconds = Number((timeParts[2] ?? '').padEnd(9, '0'));
  return {
    timeUs: Number(timeParts[1]) * 1e6 + nanoseconds / 1000,
    bus,
    id: parseInt(idParts[1] as string, 16),
    extended: idParts[2] === 'x',
    direction: sent ? 'sent' : 'received',
    fdFlags: flags,
    data: rest.map((byte) => parseInt(byte, 16)),
  };
}

function flagsFrom(word: string): number {
  return word.split('+').reduce((flags, each) => {
    const known = FLAG_WORDS.find(([, name]) => name === each);
    if (!known) throw new Error(`not a flag: "${each}"`);
    return flags | known[0];
  }, 0);
}
