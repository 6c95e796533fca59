/** Cuts a line into cells without making strings: a delimiter, or runs of blanks and NUL bytes. */
import { textOf } from '../reading/lines.ts';
import { DELIMITERS, type Delimiter } from './plan.ts';
import { plainCell, quotedCells } from './cells.ts';

const CELLS_MAX = 160;
const QUOTE = 0x22;
const BLANK = 0x20;
/** What a byte means while a line is cut that has not been looked for its end. */
const [WITHIN, AT_MARK, AT_LINE_END, AT_QUOTE] = [0, 1, 2, 3];
const APOSTROPHE = 0x27;
/** A no-break space: in UTF-8 two bytes, in 8-bit encodings the second alone. */
const [NO_BREAK_LEAD, NO_BREAK] = [0xc2, 0xa0];
const isEdge = (byte: number): boolean => byte <= BLANK || byte === QUOTE || byte === APOSTROPHE;
/** [256] 1 where a byte may stand around a cell and not belong to it. */
const MAY_BE_EDGE = Uint8Array.from({ length: 256 }, (_each, byte) =>
  isEdge(byte) || byte === NO_BREAK_LEAD || byte === NO_BREAK ? 1 : 0,
);
const encoder = new TextEncoder();

export class CellCutter {
  /** The line that the ranges are in: the one given, or a rewritten copy where its quoting is involved. */
  bytes = new Uint8Array(0);
  readonly starts = new Int32Array(CELLS_MAX);
  readonly ends = new Int32Array(CELLS_MAX);
  count = 0;
  private readonly mark: number;
  /** [256] what each byte means. */
  private readonly meaning = new Uint8Array(256).fill(WITHIN);

  constructor(delimiter: Delimiter) {
    this.mark = delimiter === 'spaces' ? -1 : DELIMITERS[delimiter].charCodeAt(0);
    if (this.mark < 0) this.meaning.fill(AT_MARK, 0, BLANK + 1);
    else {
      this.meaning[this.mark] = AT_MARK;
      this.meaning[QUOTE] = AT_QUOTE;
    }
    this.meaning[0x0a] = this.meaning[0x0d] = AT_LINE_END;
  }

  /** Whether the row has that cell and something is in it. */
  has(column: number): boolean {
    return column < this.count && (this.starts[column] as number) < (this.ends[column] as number);
  }

  text(column: number): string {
    return column < this.count ? textOf(this.bytes, this.starts[column] as number, this.ends[column] as number) : '';
  }

  cut(bytes: Uint8Array, from: number, to: number): void {
    this.bytes = bytes as Uint8Array<ArrayBuffer>;
    this.count = 0;
    if (this.mark < 0) this.cutAtBlanks(from, to);
    else if (!this.cutAtMarks(from, to)) this.cutByLibrary(bytes, from, to);
  }

  /** Cuts the line that begins at `from`; returns where it ends, -1 where it holds a quote or its end is not before `end`. */
  cutLine(bytes: Uint8Array, from: number, end: number): number {
    this.bytes = bytes as Uint8Array<ArrayBuffer>;
    return this.mark < 0 ? this.cutLineAtBlanks(bytes, from, end) : this.cutLineAtMarks(bytes, from, end);
  }

  private cutLineAtMarks(bytes: Uint8Array, from: number, end: number): number {
    const { meaning, starts, ends } = this;
    let count = 0;
    for (let at = from; ; at++) {
      while (at < end && bytes[at] === BLANK) at++;
      const first = at;
      while (at < end && meaning[bytes[at] as number] === WITHIN) at++;
      if (at >= end || meaning[bytes[at] as number] === AT_QUOTE) return -1;
      if (count < CELLS_MAX) {
        starts[count] = first;
        ends[count] = at;
        if (at > first && (MAY_BE_EDGE[bytes[at - 1] as number] || MAY_BE_EDGE[bytes[first] as number]))
          this.trim(count);
        count++;
      }
      if (meaning[bytes[at] as number] === AT_LINE_END) {
        this.count = count;
        return at;
      }
    }
  }

  private trim(cell: number): void {
    const { bytes, starts, ends } = this;
    let first = starts[cell] as number;
    let end = ends[cell] as number;
    while (first < end && edgeFrom(bytes, first) > 0) first += edgeFrom(bytes, first);
    while (end > first && edgeTo(bytes, end) > 0) end -= edgeTo(bytes, end);
    starts[cell] = first;
    ends[cell] = Math.max(first, end);
  }

  private cutLineAtBlanks(bytes: Uint8Array, from: number, end: number): number {
    const { meaning, starts, ends } = this;
    let count = 0;
    for (let at = from; ;) {
      while (at < end && meaning[bytes[at] as number] === AT_MARK) at++;
      const first = at;
      while (at < end && meaning[bytes[at] as number] === WITHIN) at++;
      if (at >= end) return -1;
      if (at > first && count < CELLS_MAX) {
        starts[count] = first;
        ends[count++] = at;
      }
      if (meaning[bytes[at] as number] === AT_LINE_END) {
        this.count = count;
        return at;
      }
    }
  }

  private cutAtBlanks(from: number, to: number): void {
    const { bytes } = this;
    let at = from;
    while (this.count < CELLS_MAX) {
      while (at < to && (bytes[at] as number) <= BLANK) at++;
      if (at >= to) return;
      const start = at;
      while (at < to && (bytes[at] as number) > BLANK) at++;
      this.add(start, at);
    }
  }

  /** False where a quote stands anywhere but around a whole plain cell. */
  private cutAtMarks(from: number, to: number): boolean {
    const { bytes, mark, starts, ends } = this;
    let count = 0;
    let at = from;
    while (count < CELLS_MAX) {
      const first = at;
      while (at < to && bytes[at] !== mark && bytes[at] !== QUOTE) at++;
      if (at < to && bytes[at] === QUOTE) {
        const close = this.closingQuote(first, at, to);
        if (close < 0) return false;
        at = close + 1;
        while (at < to && bytes[at] !== mark) at++;
      }
      starts[count] = first;
      ends[count] = at;
      this.trim(count++);
      if (at++ >= to) break;
    }
    this.count = count;
    return true;
  }

  /** The end of a quoted cell that has nothing around it but blanks; -1 for any other quoting. */
  private closingQuote(start: number, open: number, to: number): number {
    const { bytes, mark } = this;
    const close = bytes.indexOf(QUOTE, open + 1);
    if (close < 0 || close >= to || !this.isBlank(start, open)) return -1;
    let next = close + 1;
    while (next < to && (bytes[next] as number) <= BLANK && bytes[next] !== mark) next++;
    return next >= to || bytes[next] === mark ? close : -1;
  }

  private isBlank(from: number, to: number): boolean {
    for (let at = from; at < to; at++) if ((this.bytes[at] as number) > BLANK) return false;
    return true;
  }

  private cutByLibrary(bytes: Uint8Array, from: number, to: number): void {
    const mark = String.fromCharCode(this.mark);
    const cells = quotedCells(textOf(bytes, from, to), mark).map((cell) => encoder.encode(plainCell(cell)));
    this.bytes = new Uint8Array(cells.reduce((sum, { length }) => sum + length, 0));
    this.count = 0;
    let at = 0;
    for (const cell of cells) {
      this.bytes.set(cell, at);
      this.add(at, at + cell.length);
      at += cell.length;
    }
  }

  private add(from: number, to: number): void {
    if (this.count === CELLS_MAX) return;
    this.starts[this.count] = from;
    this.ends[this.count] = to;
    this.count++;
  }
}

/** Bytes of the edge that begins at `at`; 0 where there is none. */
function edgeFrom(bytes: Uint8Array, at: number): number {
  const byte = bytes[at] as number;
  if (isEdge(byte) || byte === NO_BREAK) return 1;
  return byte === NO_BREAK_LEAD && bytes[at + 1] === NO_BREAK ? 2 : 0;
}

/** Bytes of the edge that ends before `end`; 0 where there is none. */
function edgeTo(bytes: Uint8Array, end: number): number {
  if (isEdge(bytes[end - 1] as number)) return 1;
  if (bytes[end - 1] !== NO_BREAK) return 0;
  const before = bytes[end - 2] ?? 0;
  return before === NO_BREAK_LEAD ? 2 : before < 0x80 ? 1 : 0;
}
