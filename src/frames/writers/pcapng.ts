/**
 * Frames as pcapng: one section, one interface a bus, one enhanced packet a frame, link type 227 (the open capture
 * file format's block structure, draft-ietf-opsawg-pcapng; link-type registry of the-tcpdump-group). Stamps in nanoseconds
 * where asked for, else in microseconds.
 */
import type { ByteWriter } from './byte-writer.ts';
import { stampOf, writtenFlags, type CaptureWriter, type WriterOptions } from './frame.ts';

const SECTION_HEADER = 0x0a0d0d0a;
const INTERFACE_DESCRIPTION = 1;
const ENHANCED_PACKET = 6;
const BYTE_ORDER_MAGIC = 0x1a2b3c4d;
const LINK_TYPE_CAN = 227;
const OPTION_COMMENT = 1;
const OPTION_NAME = 2;
const OPTION_RESOLUTION = 9;
const MICROSECONDS = 6;
const NANOSECONDS = 9;
const OPTION_FLAGS = 2;
const INBOUND = 1;
const OUTBOUND = 2;
const FLAGS_OPTION_BYTES = 12;
const EXTENDED = 0x80000000;
const FD_FORMAT = 0x04;

const padded = (length: number): number => (length + 3) & ~3;

function writeOption(out: ByteWriter, code: number, bytes: Uint8Array): void {
  out.uint(code, 2, 'little');
  out.uint(bytes.length, 2, 'little');
  out.raw(bytes);
  out.raw(new Uint8Array(padded(bytes.length) - bytes.length));
}

/** A comment fills one option of at most 65535 bytes. */
const COMMENT_BYTES = 65_000;

function writeSection(out: ByteWriter, comments: readonly string[]): void {
  const texts = comments.map((text) => new TextEncoder().encode(text).subarray(0, COMMENT_BYTES));
  const options = texts.reduce((sum, text) => sum + 4 + padded(text.length), texts.length > 0 ? 4 : 0);
  const length = 28 + options;
  for (const value of [SECTION_HEADER, length, BYTE_ORDER_MAGIC]) out.uint(value, 4, 'little');
  out.uint(1, 2, 'little');
  out.uint(0, 2, 'little');
  for (const value of [0xffffffff, 0xffffffff]) out.uint(value, 4, 'little');
  for (const text of texts) writeOption(out, OPTION_COMMENT, text);
  if (texts.length > 0) out.uint(0, 4, 'little');
  out.uint(length, 4, 'little');
}

function writeInterface(out: ByteWriter, name: string, resolution: number): void {
  const text = new TextEncoder().encode(name);
  const length = 20 + 4 + padded(text.length) + 4 + 4 + 4;
  out.uint(INTERFACE_DESCRIPTION, 4, 'little');
  out.uint(length, 4, 'little');
  out.uint(LINK_TYPE_CAN, 2, 'little');
  out.uint(0, 2, 'little');
  out.uint(0, 4, 'little');
  writeOption(out, OPTION_NAME, text);
  writeOption(out, OPTION_RESOLUTION, Uint8Array.of(resolution));
  out.uint(0, 4, 'little');
  out.uint(length, 4, 'little');
}

/** A stamp in units of the resolution as two halves of 32 bits, high first. */
function halvesOf(seconds: number, ns: number, nanoseconds: boolean): readonly [number, number] {
  if (!nanoseconds) {
    const us = seconds * 1e6 + Math.round(ns / 1000);
    return [Math.floor(us / 2 ** 32), us % 2 ** 32];
  }
  // Beyond 2^53 from 1970 on.
  const all = BigInt(seconds) * 1_000_000_000n + BigInt(ns);
  return [Number(all >> 32n), Number(all & 0xffffffffn)];
}

export function pcapngWriter({ buses, start, nanoseconds = false, comments = [] }: WriterOptions): CaptureWriter {
  return {
    ending: 'pcapng',
    head(out) {
      writeSection(out, comments);
      for (const name of buses) writeInterface(out, name, nanoseconds ? NANOSECONDS : MICROSECONDS);
    },
    frame(out, timeUs, { bus, id, extended, fdFlags, direction, payload }) {
      const captured = 8 + payload.length;
      const length = 28 + padded(captured) + FLAGS_OPTION_BYTES + 4;
      const { seconds, ns } = stampOf(start, timeUs);
      const [high, low] = halvesOf(seconds, ns, nanoseconds);
      for (const value of [ENHANCED_PACKET, length, bus, high, low, captured, captured]) out.uint(value, 4, 'little');
      out.uint(id + (extended ? EXTENDED : 0), 4, 'big');
      out.uint(payload.length, 1, 'big');
      out.uint(fdFlags ? FD_FORMAT | writtenFlags(fdFlags) : 0, 1, 'big');
      out.uint(0, 2, 'big');
      out.raw(payload);
      out.raw(new Uint8Array(padded(captured) - captured));
      out.uint(OPTION_FLAGS, 2, 'little');
      out.uint(4, 2, 'little');
      out.uint(direction === 'sent' ? OUTBOUND : INBOUND, 4, 'little');
      out.uint(0, 4, 'little');
      out.uint(length, 4, 'little');
    },
  };
}
