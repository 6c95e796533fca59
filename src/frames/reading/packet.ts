/**
 * One packet of link type 227 (link type registry of the tcpdump group, "CAN frames"): 4 bytes of
 * identifier and flags, big-endian (80000000 extended, 40000000 remote, 20000000 error), length, FD
 * flags (01 bit rate switched, 02 error state, 04 FD), 2 bytes reserved, payload. Where the FD flag is
 * not set, a record of 16 bytes is classical and one of 72 is FD.
 */
import { FD_BIT_RATE_SWITCH, FD_ERROR_STATE, FD_FORMAT } from '../table.ts';
import { isFdLength } from './hex.ts';
import type { Recorder } from './recorder.ts';

export const LINK_TYPE_CAN = 227;
const [EXTENDED, REMOTE, ERROR, IDENTIFIER] = [0x80000000, 0x40000000, 0x20000000, 0x1fffffff];
const [HEAD_BYTES, FD_RECORD] = [8, 72];
const [BRS, ESI, FDF] = [1, 2, 4];

/** Takes the frame in a packet; returns the reason where there is none. */
export function takePacket(
  view: DataView,
  at: number,
  captured: number,
  bus: number,
  sent: boolean,
  timeUs: number,
  recorder: Recorder,
): string | null {
  if (captured < HEAD_BYTES) return 'the packet is too short for a frame';
  const word = view.getUint32(at);
  const length = view.getUint8(at + 4);
  if ((word & ERROR) !== 0) {
    recorder.error(bus, timeUs);
    return null;
  }
  const extended = (word & EXTENDED) !== 0;
  const id = word & IDENTIFIER;
  if (!extended && id > 0x7ff) return 'the identifier is beyond 11 bits and not flagged as extended';
  if ((word & REMOTE) !== 0) {
    recorder.remote(bus, id, extended, sent);
    return null;
  }
  const fd = fdFlagsOf(view.getUint8(at + 5), captured, length);
  if (!isFdLength(length) || (fd === 0 && length > 8)) return 'the length is neither a classical nor a CAN FD length';
  if (captured < HEAD_BYTES + length) return 'the packet was cut off before the end of its payload';
  const bytes = new Uint8Array(view.buffer, view.byteOffset, view.byteLength);
  recorder.data(bus, recorder.slot(bus, id, extended, sent), timeUs, bytes, at + HEAD_BYTES, length, fd);
  return null;
}

function fdFlagsOf(flags: number, captured: number, length: number): number {
  const isFd = (flags & FDF) !== 0 || captured === FD_RECORD || length > 8;
  if (!isFd) return 0;
  return FD_FORMAT | (flags & BRS ? FD_BIT_RATE_SWITCH : 0) | (flags & ESI ? FD_ERROR_STATE : 0);
}

/** A packet for the list of rejects. */
export function packetText(view: DataView, at: number, captured: number): string {
  const shown = Math.min(captured, 24, view.byteLength - at);
  return Array.from({ length: Math.max(0, shown) }, (_each, i) =>
    view
      .getUint8(at + i)
      .toString(16)
      .padStart(2, '0'),
  ).join(' ');
}
