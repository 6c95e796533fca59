/**
 * Puts rows together again whose quoted cells hold a line end. A quote that opens a cell and is not
 * closed on its line waits for the lines after it; where they look like rows of their own, or the quote
 * is not closed soon, it was a stray one, and every line is taken for itself: no row is swallowed.
 */
import { joined } from '../reading/joined.ts';
import { type ColumnPlan, DELIMITERS } from './plan.ts';

const QUOTE = 0x22;
const BLANK = 0x20;
const LINES_WAITED = 12;
const NEXT = Uint8Array.of(BLANK);

interface RowTaker {
  single(bytes: Uint8Array, from: number, to: number): void;
  /** One row out of so many lines. */
  joined(bytes: Uint8Array, lines: number): void;
}

export class QuotedLines {
  private readonly waiting: Uint8Array[] = [];
  /** Negative where nothing is quoted. */
  private readonly mark: number;
  /** A line with so many separators is a row of its own. */
  private readonly marksOfRow: number;

  constructor(
    plan: ColumnPlan,
    private readonly taker: RowTaker,
  ) {
    this.mark = plan.delimiter === 'spaces' ? -1 : DELIMITERS[plan.delimiter].charCodeAt(0);
    this.marksOfRow = Math.max(plan.id.column, plan.data?.column ?? 0, plan.bytes?.column ?? 0);
  }

  get isWaiting(): boolean {
    return this.waiting.length > 0;
  }

  line(bytes: Uint8Array, from: number, to: number): void {
    if (this.isWaiting) this.further(bytes.slice(from, to));
    else if (this.mark >= 0 && opensQuote(bytes, from, to, this.mark)) this.waiting.push(bytes.slice(from, to));
    else this.taker.single(bytes, from, to);
  }

  /** Lines still waiting are taken each for itself. */
  finish(): void {
    for (const line of this.waiting.splice(0)) this.taker.single(line, 0, line.length);
  }

  private further(line: Uint8Array): void {
    const isRow = this.waiting.length >= LINES_WAITED || this.marksOutside(line) >= this.marksOfRow;
    if (isRow) {
      this.finish();
      this.line(line, 0, line.length);
      return;
    }
    this.waiting.push(line);
    const row = joined(this.waiting.flatMap((each, place) => (place === 0 ? [each] : [NEXT, each])));
    if (opensQuote(row, 0, row.length, this.mark)) return;
    this.taker.joined(row, this.waiting.splice(0).length);
  }

  /** Separators before the quote that ends the cell; of a line without quotes, all. */
  private marksOutside(line: Uint8Array): number {
    const close = line.indexOf(QUOTE);
    const within = close < 0 ? line : line.subarray(0, close);
    return within.reduce((sum, byte) => sum + (byte === this.mark ? 1 : 0), 0);
  }
}

/** Whether the line ends within a quoted cell: a quote that opens a cell has no partner. */
function opensQuote(bytes: Uint8Array, from: number, to: number, mark: number): boolean {
  let isOpen = false;
  let isCellStart = true;
  for (let at = from; at < to; at++) {
    const byte = bytes[at] as number;
    if (byte === QUOTE) {
      if (isOpen) isOpen = false;
      else if (isCellStart || bytes[at - 1] === QUOTE) isOpen = true;
      isCellStart = false;
    } else if (!isOpen) isCellStart = byte === mark || (isCellStart && byte <= BLANK);
  }
  return isOpen;
}
