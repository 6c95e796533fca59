/**
 * Screen lines: ` (1436509052.249713)  can0  044   [6]  2A 36 6C 2B BA 00   '*6l+..'`, as bus monitors
 * print them: stamps absolute, from a start, from line to line, as dates, or none; the length in
 * brackets, spaced bytes, and optional columns for direction, CAN FD flags and text. A length of two
 * digits with a leading zero ("[08]") is how CAN FD frames are printed (common practice, no source).
 */
import type { Steps } from '../pictures/steps.ts';
import {
  type FrameLineConsumer,
  judgeLines,
  type LineFrame,
  microsOf,
  parseLineStamp,
} from '../reading/frame-lines.ts';
import { HEX, isFdLength } from '../reading/hex.ts';
import { isLineEnd } from '../reading/lines.ts';
import type { JudgeOptions, Judgement, ReaderKind, Sample } from '../reading/reader.ts';
import { FD_BIT_RATE_SWITCH, FD_ERROR_STATE, FD_FORMAT } from '../table.ts';
import { isErrorId } from './log-lines.ts';

const STAMP = String.raw`-?\d+[.,]\d+|\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d+)?Z?|\d{1,2}:\d\d:\d\d(?:[.,]\d+)?`;
const LINE = new RegExp(
  String.raw`^(?:[([]?\s*(${STAMP})\s*[)\]]?\s+)?(?:([^\s[\]]+)\s+)??(?:([RT]X)\s+(?:([B-])\s+([E-])\s+)?)?([0-9A-F]{1,8})\s+(?:\[(\d{1,2})\]|\{([9A-F])\})\s*(.*)$`,
  'i',
);
const BYTES = /^((?:[0-9A-F]{2}(?:[ .]|$))*)\s*(.*)$/i;

function parseScreenLine(text: string, zoneS: number): LineFrame | string {
  const parts = LINE.exec(text.trim());
  if (!parts) return text.includes('[') ? 'not of the shape bus id [length] bytes' : 'no frame on this line';
  const [, stampText, bus = '', direction = '', brs = '', esi = '', idText = '', lengthText = '8', , rest = ''] = parts;
  const stamp = stampText === undefined ? { stamp: null, isTimeOfDay: false } : parseLineStamp(stampText, zoneS);
  const idValue = parseInt(idText, 16);
  const extended = idText.length > 3;
  const sent = /^t/i.test(direction);
  const base = { ...stamp, bus, sent, fdFlags: 0, bytes: [] };
  if (isErrorId(idText, idValue)) return { ...base, id: 0, kind: 'error', extended: false };
  if (idValue > (extended ? 0x1fffffff : 0x7ff))
    return 'the identifier is beyond what its digits can hold (7FF in three, 1FFFFFFF in eight)';
  if (/^remote request/i.test(rest)) return { ...base, id: idValue, kind: 'remote', extended };
  const bytes = bytesIn(rest, Number(lengthText));
  if (typeof bytes === 'string') return bytes;
  return { ...base, id: idValue, kind: 'data', extended, bytes, fdFlags: fdFlagsOf(lengthText, brs, esi) };
}

function bytesIn(rest: string, length: number): number[] | string {
  if (!isFdLength(length)) return 'the length is neither a classical nor a CAN FD length';
  const digits = (BYTES.exec(rest)?.[1] ?? '').replace(/[ .]/g, '');
  // Text behind the bytes may itself begin with two hex digits, so more may be found than the length says.
  if (digits.length < 2 * length) return 'the line has fewer bytes than its length says';
  return Array.from({ length }, (_each, i) => parseInt(digits.slice(2 * i, 2 * i + 2), 16));
}

function fdFlagsOf(lengthText: string, brs: string, esi: string): number {
  const isFd = lengthText.length === 2 || /b/i.test(brs) || /e/i.test(esi);
  if (!isFd) return 0;
  return FD_FORMAT | (/b/i.test(brs) ? FD_BIT_RATE_SWITCH : 0) | (/e/i.test(esi) ? FD_ERROR_STATE : 0);
}

const [OPEN, CLOSE, SPACE, POINT, OPEN_LENGTH, CLOSE_LENGTH] = [0x28, 0x29, 0x20, 0x2e, 0x5b, 0x5d];

function skipBlanks(bytes: Uint8Array, at: number, to: number): number {
  while (at < to && bytes[at] === SPACE) at++;
  return at;
}

/** `(digits.digits)  bus  id   [0..8]  bytes`, text behind allowed: every byte pair must be followed by a blank or the line end. */
function takeUsual(bytes: Uint8Array, from: number, end: number, into: FrameLineConsumer): number {
  let at = skipBlanks(bytes, from, end);
  if (bytes[at] !== OPEN) return -1;
  at++;
  const secondsFrom = at;
  let seconds = 0;
  let digit: number;
  while ((digit = (bytes[at] as number) - 48) >= 0 && digit <= 9) {
    seconds = seconds * 10 + digit;
    at++;
  }
  if (bytes[at] !== POINT || at === secondsFrom) return -1;
  const pointAt = at++;
  let fraction = 0;
  while ((digit = (bytes[at] as number) - 48) >= 0 && digit <= 9) {
    fraction = fraction * 10 + digit;
    at++;
  }
  const decimals = at - pointAt - 1;
  if (bytes[at] !== CLOSE || decimals > 9) return -1;
  const busFrom = skipBlanks(bytes, at + 1, end);
  at = busFrom;
  while (at < end && (bytes[at] as number) > SPACE) at++;
  const busTo = at;
  const idFrom = skipBlanks(bytes, at, end);
  at = idFrom;
  let id = 0;
  while ((digit = HEX[bytes[at] as number] as number) >= 0) {
    id = id * 16 + digit;
    at++;
  }
  const extended = at - idFrom === 8;
  if (busTo === busFrom || !(extended ? id <= 0x1fffffff : at - idFrom === 3 && id <= 0x7ff)) return -1;
  at = skipBlanks(bytes, at, end);
  const length = (bytes[at + 1] as number) - 48;
  if (bytes[at] !== OPEN_LENGTH || bytes[at + 2] !== CLOSE_LENGTH || length < 0 || length > 8) return -1;
  at = skipBlanks(bytes, at + 3, end);
  for (let i = 0; i < length; i++, at += 3) {
    const pair = ((HEX[bytes[at] as number] as number) << 4) | (HEX[bytes[at + 1] as number] as number);
    const behind = bytes[at + 2];
    if (!(pair >= 0) || (behind !== SPACE && !isLineEnd(behind))) return -1;
    into.scratch[i] = pair;
    if (behind !== SPACE && i + 1 < length) return -1;
  }
  if (length > 0) at--;
  else if (!isLineEnd(bytes[at])) return -1;
  while (at < end && !isLineEnd(bytes[at])) at++;
  if (at >= end) return -1;
  const { recorder } = into;
  if (decimals > recorder.decimals) recorder.decimals = decimals;
  const bus = into.buses.match(bytes, busFrom, busTo);
  into.takeData(bus, id, extended, false, seconds, microsOf(fraction, decimals), length, 0);
  return at;
}

export const screenLines: ReaderKind = {
  name: 'screen-lines',
  title: 'screen lines, "bus id [length] bytes"',
  isText: true,
  judge: (sample: Sample, { zoneS }: JudgeOptions): Steps<Judgement> =>
    judgeLines(sample, {
      parse: (line) => parseScreenLine(line, zoneS),
      takeUsual,
      called: 'screen lines ("bus id [length] bytes")',
      isNear: (line) => /\[\d+\]/.test(line),
      nearness: { near: 0.7, far: 0.2 },
      lacks: 'no line holds a length in brackets',
    }),
};
