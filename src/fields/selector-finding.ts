/** A selector as it was found, and what it says on each row. */
import { rawReader, type Piece, type Placement } from '../frames/bits.ts';
import type { PayloadRows } from './payload-rows.ts';

export interface Condition {
  readonly place: Piece;
  readonly values: readonly number[];
}

export interface SelectorFinding extends Piece {
  /** The page of another selector that this one is on; none: it is on each frame. */
  readonly on: readonly Condition[];
  /** Values seen, ascending. */
  readonly values: readonly number[];
  /** Whether they take turns by a list. */
  readonly listed: boolean;
  /** Whether they are sent in turn, where that was asked: see `Turns`. */
  readonly inTurn?: boolean;
  /** Share of the description of the bits it decides on that conditioning saves, 0..1. */
  readonly saved: number;
  /** Bits saved over the rows it was tested on, its own turns paid for. */
  readonly gain: number;
  /** Whether it goes through a list of values that rise and fall together, each with its own offset. */
  readonly isList: boolean;
  /** Whether its pages hold nothing but text. */
  readonly holdsText?: boolean;
}

/** By page, the rows on which it stands, ascending. pages: [rows]. */
export function rowsByPage(pages: ArrayLike<number>): Map<number, number[]> {
  const found = new Map<number, number[]>();
  for (let row = 0; row < pages.length; row++) {
    const page = pages[row] as number;
    const own = found.get(page);
    if (own) own.push(row);
    else found.set(page, [row]);
  }
  return found;
}

/** [rows] pages by the order in which they first come, as text: equal where the same pages are told apart. */
export function pagesKey(pages: Uint8Array): string {
  const numbers = new Map<number, number>();
  const renamed = pages.map((page) => {
    const number = numbers.get(page) ?? numbers.size;
    numbers.set(page, number);
    return number;
  });
  return String.fromCharCode(...renamed);
}

/** Whether a second number stands on all pages of the first, so that they name a page together. */
export const isOnAll = (inner: Pick<SelectorFinding, 'on'>, outer: Pick<SelectorFinding, 'values'>): boolean =>
  outer.values.every((value) => inner.on[0]?.values.includes(value));

/** [rows] value of a selector. */
export function selectorValues(rows: PayloadRows, selector: Placement): Float64Array {
  const read = rawReader(selector);
  const values = new Float64Array(rows.count);
  for (let row = 0; row < rows.count; row++) values[row] = read(rows.data, row * rows.bytes);
  return values;
}
