/**
 * Cuts a byte stream that arrives in pieces into lines ended by LF, CR LF or CR, mixed as they come.
 * Lines are handed over as ranges of a buffer, never as strings; only a line that spans two pieces is
 * copied.
 */
const LF = 10;
const CR = 13;
/** Of a longer run without a line end only so much is kept, so that a binary file cannot fill the memory. */
export const LONGEST_LINE = 1 << 16;

export type LineHandler = (bytes: Uint8Array, from: number, to: number) => void;

export class LineCutter {
  private carry = new Uint8Array(1024);
  private carried = 0;
  private endedByCr = false;

  constructor(private readonly onLine: LineHandler) {}

  push(bytes: Uint8Array): void {
    let from = 0;
    if (this.endedByCr && bytes.length > 0) {
      this.endedByCr = false;
      if (bytes[0] === LF) from = 1;
    }
    const { length } = bytes;
    for (let at = from; at < length; at++) {
      const byte = bytes[at] as number;
      if (byte > CR || (byte !== LF && byte !== CR)) continue;
      this.line(bytes, from, at);
      if (byte === CR) {
        if (at + 1 === length) this.endedByCr = true;
        else if (bytes[at + 1] === LF) at++;
      }
      from = at + 1;
    }
    if (from < length) this.keep(bytes, from, length);
  }

  /** Hands over a last line without an end. */
  finish(): void {
    if (this.carried > 0) this.line(new Uint8Array(0), 0, 0);
  }

  private line(bytes: Uint8Array, from: number, to: number): void {
    if (this.carried === 0) {
      this.onLine(bytes, from, to);
      return;
    }
    this.keep(bytes, from, to);
    const length = this.carried;
    this.carried = 0;
    this.onLine(this.carry, 0, length);
  }

  /** Keeps a part of a line for the piece to come; of a line without end only its beginning. */
  private keep(bytes: Uint8Array, from: number, to: number): void {
    const end = Math.min(to, from + LONGEST_LINE - this.carried);
    const needed = this.carried + end - from;
    if (needed > this.carry.length) {
      const grown = new Uint8Array(needed * 2);
      grown.set(this.carry.subarray(0, this.carried));
      this.carry = grown;
    }
    this.carry.set(bytes.subarray(from, end), this.carried);
    this.carried = needed;
  }
}

const decoder = new TextDecoder('utf-8');

/** A line as text, NUL bytes as spaces. */
export function textOf(bytes: Uint8Array, from: number, to: number): string {
  return decoder.decode(bytes.subarray(from, to)).replaceAll('\0', ' ');
}
