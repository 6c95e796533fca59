/** What a written frame is, for the writers of captures: plain values, no table and no recording. */
import type { ClockOrigin, Direction } from '../table.ts';
import { FD_BIT_RATE_SWITCH, FD_ERROR_STATE } from '../table.ts';
import type { ByteWriter } from './byte-writer.ts';

export interface FrameToWrite {
  /** Place in the list of buses that the writer was made with. */
  readonly bus: number;
  readonly id: number;
  readonly extended: boolean;
  /** FD_FORMAT, FD_BIT_RATE_SWITCH and FD_ERROR_STATE bits; 0: classical. */
  readonly fdFlags: number;
  readonly direction: Direction;
  readonly payload: Uint8Array;
}

/** Where the time of frames begins to count: whole seconds as the file says them, and microseconds within that second. */
export interface WrittenStart {
  readonly seconds: number;
  readonly us: number;
}

/** Writes frames one behind the other; bytes go to the ByteWriter given, so that a caller may pass them on piece by piece. */
export interface CaptureWriter {
  readonly ending: 'log' | 'pcapng';
  head(out: ByteWriter): void;
  /** timeUs: microseconds since the start. */
  frame(out: ByteWriter, timeUs: number, frame: FrameToWrite): void;
}

export interface WriterOptions {
  /** Names of the buses, in the order that frames count them. */
  readonly buses: readonly string[];
  readonly start: WrittenStart;
  /** Whether lines tell who sent: only where the logger itself sent some. Packets always tell. */
  readonly directed: boolean;
  /** Whether packets are stamped in nanoseconds; default: microseconds. Lines tell by each stamp. */
  readonly nanoseconds?: boolean;
  /** For whoever opens the file, where its format has room for them: packets have, lines have not. */
  readonly comments?: readonly string[];
}

const MICROS = 1_000_000;

/** An exact decimal text as seconds and microseconds; the part below a microsecond stays as a fraction. */
export function startOf({ text }: Pick<ClockOrigin, 'text'>): WrittenStart {
  const [, sign = '', whole = '0', fraction = ''] = /^(-?)(\d+)(?:\.(\d+))?$/.exec(text) ?? [];
  const us = Number(`${fraction.slice(0, 6).padEnd(6, '0')}.${fraction.slice(6) || '0'}`);
  // Before the start of counting nothing can be written: such a log begins at zero.
  return sign === '' ? { seconds: Number(whole), us } : { seconds: 0, us: 0 };
}

/** A time of a frame as whole seconds and nanoseconds within. */
export function stampOf(
  { seconds, us }: WrittenStart,
  timeUs: number,
): { readonly seconds: number; readonly ns: number } {
  const all = us + timeUs;
  const whole = Math.floor(all / MICROS);
  const ns = Math.round((all - whole * MICROS) * 1000);
  return ns >= 1e9 ? { seconds: seconds + whole + 1, ns: ns - 1e9 } : { seconds: seconds + whole, ns };
}

/** The flags as a digit of log lines and in packets: 1 bit rate switched, 2 error state. */
export const writtenFlags = (fdFlags: number): number =>
  (fdFlags & FD_BIT_RATE_SWITCH ? 1 : 0) | (fdFlags & FD_ERROR_STATE ? 2 : 0);
