/**
 * How long a frame is on the wire. Frame formats and bit stuffing by ISO 11898-1; classical worst case by Davis, Burns, Bril
 * and Lukkien 2007 ("Controller Area Network (CAN) schedulability analysis: refuted, revisited and revised"). Stuff bits are
 * counted exactly, by building the bits that a sender would stuff. The three bits between frames count as part of each.
 */
import { invariant } from '../kit/outcome.ts';

export interface WireFrame {
  readonly id: number;
  readonly extended: boolean;
  readonly payload: Uint8Array;
  /** A remote frame carries no data; its length code is `payload.length`. */
  readonly remote?: boolean;
  readonly fd?: boolean;
  /** CAN FD: the data phase runs at the faster rate. */
  readonly rateSwitch?: boolean;
  readonly errorState?: boolean;
}

/** Bits at the bus's rate and, for CAN FD with rate switching, bits at the data rate. */
export interface WireBits {
  readonly nominal: number;
  readonly data: number;
  /** Stuff bits among them, fixed ones included. */
  readonly stuff: number;
}

const CRC15_POLY = 0x4599;
/** CRC delimiter, acknowledge, its delimiter, 7 bits of end of frame, 3 between frames: never stuffed. */
const TAIL_BITS = 13;
const FD_LENGTHS = [0, 1, 2, 3, 4, 5, 6, 7, 8, 12, 16, 20, 24, 32, 48, 64];

/** Payload bytes that a length code stands for: 9 to 15 mean 8 in a classical frame, 12 to 64 in CAN FD. */
export function lengthOfCode(code: number, fd: boolean): number {
  invariant(Number.isInteger(code) && code >= 0 && code <= 15, `${code} is no length code`);
  return fd ? (FD_LENGTHS[code] as number) : Math.min(code, 8);
}

/** The least length code that holds so many bytes. */
export function codeOfLength(bytes: number, fd: boolean): number {
  const code = fd ? FD_LENGTHS.findIndex((length) => length >= bytes) : bytes;
  invariant(code >= 0 && (fd || code <= 8), `a ${fd ? 'CAN FD' : 'classical'} frame holds no ${bytes} bytes`);
  return code;
}

/** CRC of a classical frame over its bits from start of frame to the last data bit. */
export function crc15(bits: ArrayLike<number>): number {
  let crc = 0;
  for (let i = 0; i < bits.length; i++) {
    const feed = (bits[i] as number) ^ (crc >> 14);
    crc = (crc << 1) & 0x7fff;
    if (feed) crc ^= CRC15_POLY;
  }
  return crc;
}

function pushBits(into: number[], value: number, count: number): void {
  for (let bit = count - 1; bit >= 0; bit--) into.push((value >>> bit) & 1);
}

/** Start of frame, identifier and the bits up to the one that tells classical from CAN FD. */
function pushIdentifier(into: number[], frame: WireFrame): void {
  const remote = frame.remote ? 1 : 0;
  into.push(0);
  if (frame.extended) {
    pushBits(into, frame.id >>> 18, 11);
    into.push(1, 1);
    pushBits(into, frame.id & 0x3ffff, 18);
    into.push(remote);
  } else {
    pushBits(into, frame.id, 11);
    into.push(remote, 0);
  }
}

function pushPayload(into: number[], frame: WireFrame): void {
  if (frame.remote) return;
  const bytes = lengthOfCode(codeOfLength(frame.payload.length, frame.fd ?? false), frame.fd ?? false);
  for (let i = 0; i < bytes; i++) pushBits(into, frame.payload[i] ?? 0, 8);
}

/** Start of frame to the end of the check sequence: all that is subject to stuffing in a classical frame. */
export function classicalBits(frame: WireFrame): number[] {
  const bits: number[] = [];
  pushIdentifier(bits, frame);
  bits.push(0);
  if (frame.extended) bits.push(0);
  pushBits(bits, codeOfLength(frame.payload.length, false), 4);
  pushPayload(bits, frame);
  pushBits(bits, crc15(bits), 15);
  return bits;
}

/** Stuff bits that follow bits[0..end - 1]: one after each five equal ones, itself the first of the next five. */
function stuffBitsBetween(
  bits: readonly number[],
  from: number,
  end: number,
  state: { run: number; level: number },
): number {
  let stuffed = 0;
  for (let i = from; i < end; i++) {
    const bit = bits[i] as number;
    state.run = bit === state.level ? state.run + 1 : 1;
    state.level = bit;
    if (state.run === 5) {
      stuffed++;
      state.level = 1 - bit;
      state.run = 1;
    }
  }
  return stuffed;
}

export const countStuffBits = (bits: readonly number[]): number =>
  stuffBitsBetween(bits, 0, bits.length, { run: 0, level: -1 });

/** Start of frame to the last data bit of a CAN FD frame, and how many of them go at the bus's rate. */
function fdBits(frame: WireFrame): { bits: number[]; arbitration: number } {
  const bits: number[] = [];
  pushIdentifier(bits, { ...frame, remote: false });
  bits.push(1, 0, frame.rateSwitch ? 1 : 0);
  const arbitration = bits.length;
  bits.push(frame.errorState ? 1 : 0);
  pushBits(bits, codeOfLength(frame.payload.length, true), 4);
  pushPayload(bits, { ...frame, remote: false });
  return { bits, arbitration };
}

/**
 * Check field of CAN FD: 4 bits of stuff count, 17 or (above 16 bytes) 21 of CRC, a fixed stuff bit before them and after each
 * fourth. A dynamic stuff bit that would fall on the first fixed one is replaced by it.
 */
function fdCheckBits(bytes: number): { bits: number; fixed: number } {
  const content = 4 + (bytes > 16 ? 21 : 17);
  return { bits: content, fixed: 1 + Math.floor(content / 4) };
}

function fdWireBits(frame: WireFrame): WireBits {
  const { bits, arbitration } = fdBits(frame);
  const state = { run: 0, level: -1 };
  const stuffBefore = stuffBitsBetween(bits, 0, arbitration, state);
  const lastIsReplaced = bits.length - 1;
  const stuffAfter = stuffBitsBetween(bits, arbitration, lastIsReplaced, state);
  const check = fdCheckBits(frame.payload.length);
  const nominal = arbitration + stuffBefore + TAIL_BITS - 1;
  const data = bits.length - arbitration + stuffAfter + check.bits + check.fixed + 1;
  const stuff = stuffBefore + stuffAfter + check.fixed;
  return frame.rateSwitch ? { nominal, data, stuff } : { nominal: nominal + data, data: 0, stuff };
}

/** Exact bits of one frame on the wire, those between frames included. */
export function wireBits(frame: WireFrame): WireBits {
  if (frame.fd) return fdWireBits(frame);
  const bits = classicalBits(frame);
  const stuff = countStuffBits(bits);
  return { nominal: bits.length + stuff + TAIL_BITS, data: 0, stuff };
}

/** Bits of a classical data frame without any stuff bit: 47 + 8s or 67 + 8s. */
export function leastBits(bytes: number, extended: boolean): number {
  return (extended ? 54 : 34) + 8 * bytes + TAIL_BITS;
}

/** Bits of a classical data frame with as many stuff bits as any content can cause (Davis et al. 2007, equation 1). */
export function worstCaseBits(bytes: number, extended: boolean): number {
  const exposed = (extended ? 54 : 34) + 8 * bytes;
  return leastBits(bytes, extended) + Math.floor((exposed - 1) / 4);
}

export interface BusRate {
  /** bit/s */
  readonly bitrate: number;
  /** bit/s of the data phase, for CAN FD with rate switching. */
  readonly dataBitrate: number | null;
}
export type BusRates = Readonly<Record<string, BusRate>>;

/** Seconds on the wire. Without a data rate the data phase counts at the bus's rate. */
export function wireSeconds(bits: WireBits, rate: BusRate): number {
  return bits.nominal / rate.bitrate + bits.data / (rate.dataBitrate ?? rate.bitrate);
}
