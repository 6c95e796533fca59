/**
 * Messages longer than a frame put together again, as ISO 15765-2:2016 cuts them: single, first, consecutive and flow-control frames, with the
 * control byte first (normal addressing) or behind an address byte (extended and mixed addressing), the long forms of CAN FD included. Every frame
 * is counted: as part of a message, as flow control, or as none of this.
 */
import { payloadAt, type Stream } from '../../frames/table.ts';

/** 0: normal addressing, the control byte comes first; 1: an address byte stands before it. */
export type ControlAt = 0 | 1;

export interface TransportMessage {
  /** First and last frame, microseconds since the table's origin. */
  readonly startUs: number;
  readonly endUs: number;
  /** Frames it took. */
  readonly frames: number;
  /** Null with normal addressing. */
  readonly address: number | null;
  readonly payload: Uint8Array;
}

export type Broken = 'cut-off' | 'wrong-order';

export interface TransportCounts {
  readonly single: number;
  readonly first: number;
  readonly consecutive: number;
  readonly flowControl: number;
  /** Frames that are none of these, or lead no message on. */
  readonly other: number;
  /** Messages begun and not ended, by what ended them. */
  readonly broken: Readonly<Record<Broken, number>>;
}

export interface Transported {
  readonly messages: readonly TransportMessage[];
  /** [flow controls] microseconds since the origin. */
  readonly flowControlUs: readonly number[];
  readonly counts: TransportCounts;
}

/** A consecutive frame comes within a second of what it waits for (N_Cr), which may be a flow control that itself comes within one (N_Bs). */
const SILENCE_MOST_US = 2_000_000;

interface Begun {
  readonly startUs: number;
  readonly bytes: Uint8Array;
  filled: number;
  frames: number;
  nextNumber: number;
  lastUs: number;
}

type ControlFrame =
  | { readonly kind: 'single' | 'first'; readonly length: number; readonly from: number }
  | { readonly kind: 'consecutive'; readonly number: number; readonly from: number }
  | { readonly kind: 'flow-control' };

/** Up to this many payload bytes a frame is classical, and a single frame says its length in four bits. */
const CLASSICAL_BYTES = 8;

function singleOf(frame: Uint8Array, at: ControlAt): ControlFrame | null {
  const short = (frame[at] as number) & 15;
  if (short > 0 && frame.length <= CLASSICAL_BYTES)
    return short <= frame.length - at - 1 ? { kind: 'single', length: short, from: at + 1 } : null;
  const long = frame[at + 1] ?? 0;
  const isLong = short === 0 && frame.length > CLASSICAL_BYTES && long > CLASSICAL_BYTES - 1 - at;
  return isLong && long <= frame.length - at - 2 ? { kind: 'single', length: long, from: at + 2 } : null;
}

/** The least that a first frame may announce is one byte more than a single frame holds. */
function firstOf(frame: Uint8Array, at: ControlAt): ControlFrame | null {
  const short = (((frame[at] as number) & 15) << 8) | (frame[at + 1] ?? 0);
  if (short > 0) {
    const least = frame.length > CLASSICAL_BYTES ? frame.length - at - 1 : CLASSICAL_BYTES - at;
    return short >= least && frame.length >= CLASSICAL_BYTES ? { kind: 'first', length: short, from: at + 2 } : null;
  }
  if (frame.length < at + 7) return null;
  const long = new DataView(frame.buffer, frame.byteOffset + at + 2, 4).getUint32(0);
  return long > 0xfff && long < 1 << 24 ? { kind: 'first', length: long, from: at + 6 } : null;
}

/** What one frame is, or null where it is none of the four. */
export function controlFrameOf(frame: Uint8Array, at: ControlAt): ControlFrame | null {
  const control = frame[at];
  if (control === undefined) return null;
  switch (control >> 4) {
    case 0:
      return singleOf(frame, at);
    case 1:
      return firstOf(frame, at);
    case 2:
      return frame.length > at + 1 ? { kind: 'consecutive', number: control & 15, from: at + 1 } : null;
    case 3:
      return (control & 15) <= 2 && frame.length >= at + 3 ? { kind: 'flow-control' } : null;
    default:
      return null;
  }
}

/** Puts together the messages of one stream, those to several addresses apart. */
export function reassemble(stream: Stream, at: ControlAt): Transported {
  const messages: TransportMessage[] = [];
  const flowControlUs: number[] = [];
  const counts = { single: 0, first: 0, consecutive: 0, flowControl: 0, other: 0 };
  const broken: Record<Broken, number> = { 'cut-off': 0, 'wrong-order': 0 };
  const begun = new Map<number | null, Begun>();

  const breakOff = (address: number | null, why: Broken): void => {
    if (begun.delete(address)) broken[why]++;
  };
  const finish = (address: number | null, message: Begun): void => {
    begun.delete(address);
    const { startUs, lastUs, frames, bytes } = message;
    messages.push({ startUs, endUs: lastUs, frames, address, payload: bytes });
  };
  const goOn = (address: number | null, frame: Uint8Array, number: number, from: number, nowUs: number): void => {
    const open = begun.get(address);
    if (!open || nowUs - open.lastUs > SILENCE_MOST_US) {
      breakOff(address, 'cut-off');
      counts.other++;
    } else if (number !== open.nextNumber) {
      breakOff(address, 'wrong-order');
      counts.other++;
    } else {
      counts.consecutive++;
      const part = frame.subarray(from, from + open.bytes.length - open.filled);
      open.bytes.set(part, open.filled);
      open.filled += part.length;
      open.frames++;
      open.lastUs = nowUs;
      open.nextNumber = (number + 1) & 15;
      if (open.filled === open.bytes.length) finish(address, open);
    }
  };
  const begin = (address: number | null, frame: Uint8Array, length: number, from: number, nowUs: number): void => {
    breakOff(address, 'cut-off');
    const bytes = new Uint8Array(length);
    const part = frame.subarray(from, from + length);
    bytes.set(part);
    const message: Begun = { startUs: nowUs, bytes, filled: part.length, frames: 1, nextNumber: 1, lastUs: nowUs };
    if (message.filled === length) finish(address, message);
    else begun.set(address, message);
  };

  for (let index = 0; index < stream.count; index++) {
    const frame = payloadAt(stream, index);
    const nowUs = stream.timeUs[index] as number;
    const address = at === 0 ? null : (frame[0] ?? null);
    const control = controlFrameOf(frame, at);
    if (!control) counts.other++;
    else if (control.kind === 'flow-control') {
      counts.flowControl++;
      flowControlUs.push(nowUs);
    } else if (control.kind === 'consecutive') goOn(address, frame, control.number, control.from, nowUs);
    else {
      counts[control.kind]++;
      begin(address, frame, control.length, control.from, nowUs);
    }
  }
  broken['cut-off'] += begun.size;
  return { messages, flowControlUs, counts: { ...counts, broken } };
}
