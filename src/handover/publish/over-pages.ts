/** Tapes over the pages of one identifier: by ranges of columns, and by all bits that are free on them. */
import type { Cell } from './cells.ts';
import type { PageRun } from './page-runs.ts';
import { allOrders, bothOrders, readBy, refsOf, type ByteRef, type Reading } from './tapes.ts';

type Range = readonly [from: number, to: number];

const isStill = ({ still }: Cell, byte: number): boolean => still[byte] === 255;
const isOfText = (value: number): boolean => /^[A-Za-z0-9./_*-]$/.test(String.fromCharCode(value));
const isDecimal = (value: number): boolean => value >> 4 < 10 && (value & 15) < 10;

/** Whole free bytes that hold different values still on some pages. */
const differing = (cells: readonly Cell[], free: Uint8Array): readonly number[] =>
  [...free.keys()].filter(
    (byte) =>
      free[byte] === 255 &&
      new Set(cells.filter((cell) => isStill(cell, byte)).map((cell) => cell.value[byte])).size > 1,
  );

/**
 * Columns that a text over these pages may hold: those that differ, and such beside them as hold one character on all pages, as a text may repeat itself there.
 */
function columnsOf(cells: readonly Cell[], free: Uint8Array, differs: readonly number[]): readonly number[] {
  const columns = new Set(differs);
  const holdsOne = (byte: number): boolean =>
    free[byte] === 255 && cells.every((cell) => isStill(cell, byte)) && isOfText(cells[0]?.value[byte] as number);
  for (const step of [1, -1])
    for (const from of differs)
      for (
        let byte = from + step;
        byte >= 0 && byte < free.length && !columns.has(byte) && holdsOne(byte);
        byte += step
      )
        columns.add(byte);
  return [...columns].sort((one, other) => one - other);
}

const SHORT_BYTES = 8;

/** Ranges of columns that text over pages may stand in: any of a short frame, whose guards nobody may know; of a long one those as wide as they go. */
function rangesOf(columns: readonly number[], bytes: number): readonly Range[] {
  const isShort = bytes <= SHORT_BYTES;
  const starts = isShort ? columns : columns.filter((byte) => !columns.includes(byte - 1));
  const endOf = (from: number): number => {
    let to = from;
    while (columns.includes(to + 1)) to++;
    return to;
  };
  return starts.flatMap((from) =>
    (isShort ? columns.filter((to) => to >= from) : [endOf(from)]).map((to): Range => [from, to + 1]),
  );
}

/** The range to look for packed decimals in: the widest of columns that hold nothing else on any page; else all that differ. */
function decimalRange(cells: readonly Cell[], differs: readonly number[]): Range | null {
  const decimal = differs.filter((byte) =>
    cells.every((cell) => isStill(cell, byte) && isDecimal(cell.value[byte] as number)),
  );
  const own = decimal.length > 0 ? decimal : differs;
  let best: Range | null = null;
  for (const from of own) {
    let to = from;
    while (own.includes(to + 1)) to++;
    if (!best || to + 1 - from > best[1] - best[0]) best = [from, to + 1];
  }
  return best;
}

const isSameAt = (one: Cell, other: Cell, byte: number, mask: number): boolean => {
  const bits = mask & (one.still[byte] as number) & (other.still[byte] as number);
  return bits !== 0 && (((one.value[byte] as number) ^ (other.value[byte] as number)) & bits) === 0;
};

/** Whether a byte goes on from the page before by one at most, or by the step that led there. */
function goesOn(cells: readonly Cell[], index: number, byte: number): boolean {
  const [cell, before, earlier] = [cells[index], cells[index - 1], cells[index - 2]];
  if (!cell || !before || !isStill(cell, byte) || !isStill(before, byte)) return false;
  const stepTo = (from: Cell, to: Cell): number => ((to.value[byte] as number) - (from.value[byte] as number)) & 255;
  const step = stepTo(before, cell);
  return (
    step <= 1 || step === 255 || (earlier !== undefined && isStill(earlier, byte) && step === stepTo(earlier, before))
  );
}

/** More than so many of a page's bytes go on from the page before: it is a line of a table. Of digits alone three in ten do by chance. */
const TABLE_SHARE = 0.7;

const isTableLine = (cells: readonly Cell[], index: number, bytes: readonly number[]): boolean =>
  index > 0 && bytes.filter((byte) => goesOn(cells, index, byte)).length >= TABLE_SHARE * bytes.length;

/** [cells][bytes] whether the byte of a page tells nothing new. */
function repeatsOf(cells: readonly Cell[], free: Uint8Array, differs: readonly number[]): readonly boolean[][] {
  return cells.map((cell, index) => {
    const isLine = isTableLine(cells, index, differs);
    return Array.from(free, (bits, byte) => {
      if (isLine && goesOn(cells, index, byte)) return true;
      for (let before = 0; before < index; before++) if (isSameAt(cell, cells[before] as Cell, byte, bits)) return true;
      return false;
    });
  });
}

/** free: [bytes] bits that nothing of the map holds. */
export function overPages({ index: { byte, mask }, cells }: PageRun, free: Uint8Array): Reading[] {
  const own = free.map((bits, at) => (at === byte ? bits & ~mask : bits));
  const differs = differing(cells, own);
  const repeats = repeatsOf(cells, own, differs);
  // Bits that move on every page are beside the number; where they move on some, it is not on those.
  const still = own.map((bits, at) => bits & cells.reduce((all, cell) => all | (cell.still[at] as number), 0));
  const refs = (bits: Uint8Array, from: number, to: number): ByteRef[][] =>
    cells.map((cell, page) =>
      refsOf(cell, bits, from, to).map((ref) => ({ ...ref, repeats: repeats[page]?.[ref.byte] === true })),
    );
  const digits = decimalRange(cells, differs);
  const ranges = rangesOf(columnsOf(cells, own, differs), own.length).flatMap(([from, to]) => {
    const pages = refs(own, from, to);
    const onward = pages.flat();
    const turned = pages.flatMap((page) => page.toReversed());
    const tapes = [onward, turned, onward.toReversed()].flatMap((each) => bothOrders('pages', each));
    return readBy(tapes, false, from === digits?.[0] && to === digits[1]);
  });
  return [...ranges, ...readBy(allOrders('pages', refs(still, 0, still.length).flat()), true)];
}
