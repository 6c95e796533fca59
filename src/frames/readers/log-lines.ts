/**
 * Log lines: `(1436509052.249713) can0 044#2A366C2BBA`, one frame a line, as bus loggers write them to
 * be replayed. The usual shape goes through a loop over bytes; every other shape (stamps as dates,
 * remote and error frames, CAN FD, raw length codes) through the written-out grammar.
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

const STAMP = String.raw`-?\d+(?:[.,]\d+)?|\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d+)?Z?|\d{1,2}:\d\d:\d\d(?:[.,]\d+)?`;
const LINE = new RegExp(
  String.raw`^(?:[([]?\s*(${STAMP})\s*[)\]]?\s+)?(?:(\S+)\s+)?([0-9A-F]{1,8})#(\S*)(?:\s+([RT]x?))?(?:\s+[;'/].*)?\s*$`,
  'i',
);
const ERROR_FLAG = 0x20000000;

function parseLogLine(text: string, zoneS: number): LineFrame | string {
  const parts = LINE.exec(text.trim());
  if (!parts) return text.includes('#') ? 'not of the shape (seconds) bus id#payload' : 'no frame on this line';
  const [, stampText, bus = '', idText = '', body = '', direction = ''] = parts;
  const stamp = stampText === undefined ? { stamp: null, isTimeOfDay: false } : parseLineStamp(stampText, zoneS);
  const idValue = parseInt(idText, 16);
  const extended = idText.length > 3;
  const base = { ...stamp, bus, sent: /^t/i.test(direction) };
  if (isErrorId(idText, idValue)) return { ...base, id: 0, kind: 'error', extended: false, fdFlags: 0, bytes: [] };
  if (idValue > (extended ? 0x1fffffff : 0x7ff))
    return 'the identifier is beyond what its digits can hold (7FF in three, 1FFFFFFF in eight)';
  const content = parseBody(body);
  return typeof content === 'string' ? content : { ...base, id: idValue, extended, ...content };
}

/** Error frames are written as eight digits with the error flag set. */
export const isErrorId = (text: string, value: number): boolean =>
  text.length === 8 && value >= ERROR_FLAG && value < 2 * ERROR_FLAG;

type Body = Pick<LineFrame, 'kind' | 'fdFlags' | 'bytes'>;

function parseBody(body: string): Body | string {
  if (/^R([0-8](_[9A-F])?|[9A-F])?$/i.test(body)) return { kind: 'remote', fdFlags: 0, bytes: [] };
  if (body.startsWith('#')) return parseFdBody(body);
  if (body.includes('#')) return 'a second # where the payload should be';
  const payload = /^([0-9A-F.]*?)(_[9A-F])?$/i.exec(body);
  if (!payload) return 'the payload holds something other than hex digits';
  const digits = (payload[1] as string).replaceAll('.', '');
  if (digits.length % 2) return 'the payload has an odd number of hex digits';
  if (digits.length > 16) return 'more than 8 bytes without CAN FD flags';
  if (payload[2] && digits.length !== 16) return 'a raw length code without 8 payload bytes';
  return { kind: 'data', fdFlags: 0, bytes: bytesOf(digits) };
}

function parseFdBody(body: string): Body | string {
  const parts = /^#([0-9A-F])([0-9A-F.]*)$/i.exec(body);
  if (!parts) return 'not of the CAN FD shape id##flags then payload';
  const digits = (parts[2] as string).replaceAll('.', '');
  if (digits.length % 2) return 'the payload has an odd number of hex digits';
  if (!isFdLength(digits.length / 2)) return 'the number of payload bytes is no CAN FD length';
  return { kind: 'data', fdFlags: fdFlagsOf(parseInt(parts[1] as string, 16)), bytes: bytesOf(digits) };
}

/** Flags as written after ##: 1 bit rate switched, 2 error state. */
function fdFlagsOf(written: number): number {
  return FD_FORMAT | (written & 1 ? FD_BIT_RATE_SWITCH : 0) | (written & 2 ? FD_ERROR_STATE : 0);
}

const bytesOf = (digits: string): number[] =>
  Array.from({ length: digits.length / 2 }, (_each, i) => parseInt(digits.slice(2 * i, 2 * i + 2), 16));

const [OPEN, CLOSE, SPACE, POINT, HASH] = [0x28, 0x29, 0x20, 0x2e, 0x23];
const [LETTER_R, LETTER_T] = [0x52, 0x54];

/** `(digits.digits) bus XXX#hex` or `XXXXXXXX#hex`, with an optional R or T behind. */
function takeUsual(bytes: Uint8Array, from: number, end: number, into: FrameLineConsumer): number {
  if (bytes[from] !== OPEN) return -1;
  let at = from + 1;
  let seconds = 0;
  let digit: number;
  while ((digit = (bytes[at] as number) - 48) >= 0 && digit <= 9) {
    seconds = seconds * 10 + digit;
    at++;
  }
  if (bytes[at] !== POINT || at === from + 1) return -1;
  const pointAt = at++;
  let fraction = 0;
  while ((digit = (bytes[at] as number) - 48) >= 0 && digit <= 9) {
    fraction = fraction * 10 + digit;
    at++;
  }
  const decimals = at - pointAt - 1;
  if (bytes[at] !== CLOSE || bytes[at + 1] !== SPACE || decimals > 9) return -1;
  const busFrom = at + 2;
  at = busFrom;
  while (at < end && (bytes[at] as number) > SPACE) at++;
  if (bytes[at] !== SPACE || at === busFrom) return -1;
  const busTo = at++;
  const idFrom = at;
  let id = 0;
  while ((digit = HEX[bytes[at] as number] as number) >= 0) {
    id = id * 16 + digit;
    at++;
  }
  const extended = at - idFrom === 8;
  if (bytes[at] !== HASH || !(extended ? id <= 0x1fffffff : at - idFrom === 3 && id <= 0x7ff)) return -1;
  at++;
  const payload = into.scratch;
  let length = 0;
  while (length < 8) {
    const pair = ((HEX[bytes[at] as number] as number) << 4) | (HEX[bytes[at + 1] as number] as number);
    if (!(pair >= 0)) break;
    payload[length++] = pair;
    at += 2;
  }
  let sent = false;
  if (bytes[at] === SPACE) {
    sent = bytes[at + 1] === LETTER_T;
    if (!sent && bytes[at + 1] !== LETTER_R) return -1;
    at += 2;
  }
  if (at >= end || !isLineEnd(bytes[at])) return -1;
  const { recorder } = into;
  if (decimals > recorder.decimals) recorder.decimals = decimals;
  const bus = into.buses.match(bytes, busFrom, busTo);
  into.takeData(bus, id, extended, sent, seconds, microsOf(fraction, decimals), length, 0);
  return at;
}

export const logLines: ReaderKind = {
  name: 'log-lines',
  title: 'log lines, "(seconds) bus id#payload"',
  isText: true,
  judge: (sample: Sample, { zoneS }: JudgeOptions): Steps<Judgement> =>
    judgeLines(sample, {
      parse: (line) => parseLogLine(line, zoneS),
      takeUsual,
      called: 'log lines ("bus id#payload")',
      isNear: (line) => line.includes('#'),
      nearness: { near: 0.8, far: 0.3 },
      lacks: 'no line holds id#payload',
    }),
};
