/**
 * Cuts a byte stream that arrives in pieces into lines ended by LF, CR LF or CR, mixed as they come.
 * Lines are handed over as ranges of a buffer, never as strings; only a line that spans two pieces is
 * copied. A reader that knows the usual line finds its end while it parses: it may take lines before
 * they are cut, which saves looking at every byte twice.
 */
const LF = 10;
const CR = 13;
/** Of a longer run without a line end only so much is kept, so that a binary file cannot fill the memory. */
const LONGEST_LINE = 1 << 16;

export type LineHandler = (bytes: Uint8Array, from: number, to: number) => void;

/** Takes the whole line that begins at `from`: returns where its line end stands; -1 where it takes nothing. */
export type LineTaker = (bytes: Uint8Array, from: number, end: number) => number;

/** Nearer to the end of a piece a line is cut first, so that a taker hardly ever looks beyond. */
const TAKER_NEEDS = 256;

export const isLineEnd = (byte: number | undefined): boolean => byte === LF || byte === CR;

export class LineCutter {
  private carry = new Uint8Array(1024);
  private carried = 0;
  private endedByCr = false;

  constructor(
    private readonly onLine: LineHandler,
    private readonly take: LineTaker | null = null,
  ) {}

  push(bytes: Uint8Array): void {
    let from = 0;
    if (this.endedByCr && bytes.length > 0) {
      this.endedByCr = false;
      if (bytes[0] === LF) from = 1;
    }
    const { length } = bytes;
    const { take } = this;
    const takenBefore = length - TAKER_NEEDS;
    if (take && this.carried > 0) from = this.cutOne(bytes, from);
    while (from < length) {
      const at = take && from < takenBefore ? take(bytes, from, length) : -1;
      from = at < 0 ? this.cutOne(bytes, from) : this.afterEnd(bytes, at);
    }
  }

  /** Hands over the line that begins at `from`, or keeps what there is of it; returns where the next begins. */
  private cutOne(bytes: Uint8Array, from: number): number {
    const { length } = bytes;
    let at = from;
    let byte = 0;
    while (at < length && ((byte = bytes[at] as number) > CR || (byte !== LF && byte !== CR))) at++;
    if (at === length) {
      if (from < length) this.keep(bytes, from, length);
      return length;
    }
    this.line(bytes, from, at);
    return this.afterEnd(bytes, at);
  }

  /** `at` is a CR or LF. */
  private afterEnd(bytes: Uint8Array, at: number): number {
    if (bytes[at] !== CR) return at + 1;
    if (at + 1 === bytes.length) this.endedByCr = true;
    return bytes[at + 1] === LF ? at + 2 : at + 1;
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
