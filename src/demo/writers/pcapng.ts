/**
 * A recording as pcapng: one section, one interface a bus, one enhanced packet a frame, link type 227 (the open capture
 * file format's block structure, draft-ietf-opsawg-pcapng; link-type registry of the-tcpdump-group).
 */
import { frameAt, isOwn, payloadAt, type Recording } from '../recording/logger.ts';
import { ByteWriter } from './byte-writer.ts';

const SECTION_HEADER = 0x0a0d0d0a;
const INTERFACE_DESCRIPTION = 1;
const ENHANCED_PACKET = 6;
const BYTE_ORDER_MAGIC = 0x1a2b3c4d;
const LINK_TYPE_CAN = 227;
const OPTION_NAME = 2;
const OPTION_RESOLUTION = 9;
const MICROSECONDS = 6;
const OPTION_FLAGS = 2;
const INBOUND = 1;
const OUTBOUND = 2;
const FLAGS_OPTION_BYTES = 12;
const EXTENDED = 0x80000000;
const FD_FORMAT = 0x04;
const FD_BIT_RATE_SWITCH = 0x01;

const padded = (length: number): number => (length + 3) & ~3;

function writeSection(out: ByteWriter): void {
  for (const value of [SECTION_HEADER, 28, BYTE_ORDER_MAGIC]) out.uint(value, 4, 'little');
  out.uint(1, 2, 'little');
  out.uint(0, 2, 'little');
  for (const value of [0xffffffff, 0xffffffff, 28]) out.uint(value, 4, 'little');
}

function writeOption(out: ByteWriter, code: number, bytes: Uint8Array): void {
  out.uint(code, 2, 'little');
  out.uint(bytes.length, 2, 'little');
  out.raw(bytes);
  out.raw(new Uint8Array(padded(bytes.length) - bytes.length));
}

function writeInterface(out: ByteWriter, name: string): void {
  const text = new TextEncoder().encode(name);
  const length = 20 + 4 + padded(text.length) + 4 + 4 + 4;
  out.uint(INTERFACE_DESCRIPTION, 4, 'little');
  out.uint(length, 4, 'little');
  out.uint(LINK_TYPE_CAN, 2, 'little');
  out.uint(0, 2, 'little');
  out.uint(0, 4, 'little');
  writeOption(out, OPTION_NAME, text);
  writeOption(out, OPTION_RESOLUTION, Uint8Array.of(MICROSECONDS));
  out.uint(0, 4, 'little');
  out.uint(length, 4, 'little');
}

function writePacket(out: ByteWriter, recording: Recording, row: number): void {
  const frame = frameAt(recording, row);
  const payload = payloadAt(recording, row);
  const captured = 8 + payload.length;
  const length = 28 + padded(captured) + FLAGS_OPTION_BYTES + 4;
  const timeUs = recording.startEpochS * 1e6 + (recording.timeUs[row] as number);
  for (const value of [
    ENHANCED_PACKET,
    length,
    frame.bus,
    Math.floor(timeUs / 2 ** 32),
    timeUs % 2 ** 32,
    captured,
    captured,
  ])
    out.uint(value, 4, 'little');
  out.uint(frame.id + (frame.extended ? EXTENDED : 0), 4, 'big');
  out.uint(payload.length, 1, 'big');
  out.uint(frame.fd ? FD_FORMAT | FD_BIT_RATE_SWITCH : 0, 1, 'big');
  out.uint(0, 2, 'big');
  out.raw(payload);
  out.raw(new Uint8Array(padded(captured) - captured));
  out.uint(OPTION_FLAGS, 2, 'little');
  out.uint(4, 2, 'little');
  out.uint(isOwn(frame) ? OUTBOUND : INBOUND, 4, 'little');
  out.uint(0, 4, 'little');
  out.uint(length, 4, 'little');
}

export function writePcapng(recording: Recording): Uint8Array<ArrayBuffer> {
  const out = new ByteWriter(recording.count * 52 + 256);
  writeSection(out);
  for (const { name } of recording.vehicle.buses) writeInterface(out, name);
  for (let row = 0; row < recording.count; row++) writePacket(out, recording, row);
  return out.finish();
}
