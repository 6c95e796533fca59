/**
 * Log lines: `(1436509052.249713) can0 044#2A366C2BBA`, one frame a line, as bus loggers write them to
 * be replayed. The usual shape goes through a loop over bytes; every other shape (stamps as dates,
 * remote and error frames, CAN FD, raw length codes) through the written-out grammar below it.
 */
import type { Slot } from '../slot.ts';
import { FD_BIT_RATE_SWITCH, FD_ERROR_STATE, FD_FORMAT } from '../table.ts';
import { isAside } from '../reading/asides.ts';
import { HEX, isFdLength } from '../reading/hex.ts';
import { LineCutter, textOf } from '../reading/lines.ts';
import { NameMatcher } from '../reading/names.ts';
import type { Consumer, JudgeOptions, Judgement, ReaderKind, Sample } from '../reading/reader.ts';
import type { Recorder } from '../reading/recorder.ts';
import { parseDateStamp, parseNumberStamp, type Stamp } from '../reading/stamps.ts';

const LINE =
  /^(?:\(?\s*(-?\d+(?:[.,]\d+)?|\d{4}-\d\d-\d\d[T ]\d\d:\d\d:\d\d(?:[.,]\d+)?)\s*\)?\s+)?(?:(\S+)\s+)?([0-9A-Fa-f]{1,8})#(\S*)(?:\s+([RT]x?))?\s*$/i;
const ERROR_FLAG = 0x20000000;

interface LogLine {
  readonly stamp: Stamp | null;
  readonly bus: string;
  readonly id: number;
  readonly kind: 'data' | 'remote' | 'error';
  readonly extended: boolean;
  readonly sent: boolean;
  readonly fdFlags: number;
  readonly bytes: readonly number[];
}

/** The frame on a line, or the reason why there is none. */
export function parseLogLine(text: string, zoneS: number): LogLine | string {
  const parts = LINE.exec(text.trim());
  if (!parts) return text.includes('#') ? 'not of the shape (seconds) bus id#payload' : 'no frame on this line';
  const [, stampText, bus = '', idText = '', body = '', direction = ''] = parts;
  const stamp = stampText === undefined ? null : stampOf(stampText, zoneS);
  const idValue = parseInt(idText, 16);
  const isError = idText.length === 8 && (idValue & ERROR_FLAG) !== 0 && idValue < 0x40000000;
  const extended = idText.length > 3;
  const base = { stamp, bus, sent: /^t/i.test(direction) };
  if (isError) return { ...base, id: 0, kind: 'error', extended: false, fdFlags: 0, bytes: [] };
  if (idValue > (extended ? 0x1fffffff : 0x7ff)) return `identifier ${idText} is out of range`;
  const content = parseBody(body);
  return typeof content === 'string' ? content : { ...base, id: idValue, extended, ...content };
}

function stampOf(text: string, zoneS: number): Stamp | null {
  return parseNumberStamp(text, 'seconds') ?? parseDateStamp(text, zoneS, 'day-first');
}

type Body = Pick<LogLine, 'kind' | 'fdFlags' | 'bytes'>;

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
  if (!isFdLength(digits.length / 2)) return `${digits.length / 2} bytes is no CAN FD length`;
  return { kind: 'data', fdFlags: fdFlagsOf(parseInt(parts[1] as string, 16)), bytes: bytesOf(digits) };
}

/** Flags as written after ##: 1 bit rate switched, 2 error state. */
function fdFlagsOf(written: number): number {
  return FD_FORMAT | (written & 1 ? FD_BIT_RATE_SWITCH : 0) | (written & 2 ? FD_ERROR_STATE : 0);
}

const bytesOf = (digits: string): number[] =>
  Array.from({ length: digits.length / 2 }, (_each, i) => parseInt(digits.slice(2 * i, 2 * i + 2), 16));

const POWERS = [1e6, 1e5, 1e4, 1e3, 100, 10, 1, 0.1, 0.01, 0.001];
const [OPEN, CLOSE, SPACE, POINT, HASH] = [0x28, 0x29, 0x20, 0x2e, 0x23];

class LogLineConsumer implements Consumer {
  private readonly cutter = new LineCutter((bytes, from, to) => this.line(bytes, from, to));
  private readonly scratch = new Uint8Array(64);
  private readonly buses: NameMatcher;

  constructor(
    private readonly recorder: Recorder,
    private readonly zoneS: number,
    private readonly isStamped: boolean,
  ) {
    this.buses = new NameMatcher((name) => recorder.bus(name));
  }

  push(bytes: Uint8Array): void {
    this.cutter.push(bytes);
  }

  finish(): void {
    this.cutter.finish();
  }

  private line(bytes: Uint8Array, from: number, to: number): void {
    if (!this.usualLine(bytes, from, to)) this.anyLine(textOf(bytes, from, to));
  }

  /** `(digits.digits) bus XXX#hex` or `XXXXXXXX#hex`: true where it was that and was taken. */
  private usualLine(bytes: Uint8Array, from: number, to: number): boolean {
    if (bytes[from] !== OPEN) return false;
    let at = from + 1;
    let seconds = 0;
    let digit: number;
    while ((digit = (bytes[at] as number) - 48) >= 0 && digit <= 9) {
      seconds = seconds * 10 + digit;
      at++;
    }
    if (bytes[at] !== POINT || at === from + 1) return false;
    const pointAt = at++;
    let fraction = 0;
    while ((digit = (bytes[at] as number) - 48) >= 0 && digit <= 9) {
      fraction = fraction * 10 + digit;
      at++;
    }
    const decimals = at - pointAt - 1;
    if (bytes[at] !== CLOSE || bytes[at + 1] !== SPACE || decimals > 9) return false;
    const busFrom = at + 2;
    at = busFrom;
    while (at < to && (bytes[at] as number) > SPACE) at++;
    if (bytes[at] !== SPACE || at === busFrom) return false;
    const busTo = at++;
    const idFrom = at;
    let id = 0;
    while ((digit = HEX[bytes[at] as number] as number) >= 0) {
      id = id * 16 + digit;
      at++;
    }
    const idDigits = at - idFrom;
    const extended = idDigits === 8;
    if (bytes[at] !== HASH || !(extended ? id <= 0x1fffffff : idDigits === 3 && id <= 0x7ff)) return false;
    at++;
    const payload = this.scratch;
    let length = 0;
    while (at + 1 < to && length < 8) {
      const high = HEX[bytes[at] as number] as number;
      const low = HEX[bytes[at + 1] as number] as number;
      if ((high | low) < 0) break;
      payload[length++] = (high << 4) | low;
      at += 2;
    }
    let sent = false;
    if (at !== to) {
      if (at + 2 !== to || bytes[at] !== SPACE) return false;
      if (bytes[at + 1] === 0x54) sent = true;
      else if (bytes[at + 1] !== 0x52) return false;
    }
    const { recorder } = this;
    const bus = this.buses.match(bytes, busFrom, busTo);
    const fractionUs =
      decimals === 6
        ? fraction
        : decimals <= 6
          ? fraction * (POWERS[decimals] as number)
          : fraction / 10 ** (decimals - 6);
    if (decimals > recorder.decimals) recorder.decimals = decimals;
    const slot = recorder.slot(bus, id, extended, sent);
    recorder.data(bus, slot, recorder.instant(seconds, fractionUs), payload, 0, length, 0);
    return true;
  }

  private anyLine(text: string): void {
    const { recorder, scratch } = this;
    const frame = parseLogLine(text, this.zoneS);
    if (typeof frame === 'string') {
      if (isAside(text)) recorder.ledger.passedOver++;
      else recorder.ledger.reject(text, frame);
      return;
    }
    const { stamp, id, extended, sent, bytes } = frame;
    if (stamp === null && this.isStamped) {
      recorder.ledger.reject(text, 'no stamp, though the other lines have one');
      return;
    }
    const bus = recorder.bus(frame.bus);
    const timeUs = stamp ? recorder.instant(stamp.seconds, stamp.fractionUs) : recorder.unstampedInstant();
    recorder.decimals = Math.max(recorder.decimals, stamp?.decimals ?? 0);
    if (frame.kind === 'remote') recorder.remote(bus, id, extended, sent);
    else if (frame.kind === 'error') recorder.error(bus, timeUs);
    else {
      scratch.set(bytes);
      const slot: Slot = recorder.slot(bus, id, extended, sent);
      recorder.data(bus, slot, timeUs, scratch, 0, bytes.length, frame.fdFlags);
    }
  }
}

export const logLines: ReaderKind = {
  name: 'log-lines',
  title: 'log lines, "(seconds) bus id#payload"',
  isText: true,
  judge(sample: Sample, options: JudgeOptions): Judgement {
    const claims = [...sample.lines, ...sample.deepLines].filter((line) => !isAside(line));
    const frames = claims.map((line) => parseLogLine(line, options.zoneS)).filter((each) => typeof each !== 'string');
    if (frames.length === 0) {
      const near = claims.find((line) => line.includes('#'));
      const words = near ? String(parseLogLine(near, options.zoneS)) : 'no line holds id#payload';
      return { score: 0, words };
    }
    const isStamped = frames.filter(({ stamp }) => stamp !== null).length * 2 > frames.length;
    const words = `${frames.length} of ${claims.length} sampled lines are log lines ("bus id#payload")${isStamped ? '' : ', without stamps'}`;
    return {
      score: frames.length / claims.length,
      words,
      open: (recorder) => new LogLineConsumer(recorder, options.zoneS, isStamped),
    };
  },
};
