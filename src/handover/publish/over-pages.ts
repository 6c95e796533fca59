/** Tapes over the pages of one identifier: by ranges of columns, and by all bits that are free on them. */
import type { Cell, PageIndex } from './cells.ts';
import { allOrders, bothOrders, readBy, refsOf, type ByteRef, type Reading } from './tapes.ts';

/** Pages in a row whose numbers go up by one step: the pages of a text are counted. */
export function evenRuns(cells: readonly Cell[]): Cell[][] {
  const numberOf = (cell: Cell | undefined): number => cell?.page[0]?.value ?? Number.NaN;
  const runs: Cell[][] = [];
  for (let from = 0; from + 1 < cells.length;) {
    const step = numberOf(cells[from + 1]) - numberOf(cells[from]);
    let to = from + 1;
    while (to + 1 < cells.length && numberOf(cells[to + 1]) - numberOf(cells[to]) === step) to++;
    runs.push(cells.slice(from, to + 1));
    from = to;
  }
  return runs;
}

type Range = readonly [from: number, to: number];

const isStill = ({ still }: Cell, byte: number): boolean => still[byte] === 255;
const isDecimal = (value: number): boolean => value >> 4 < 10 && (value & 15) < 10;

/** Whole free bytes that hold different values still on some pages. */
const differing = (cells: readonly Cell[], free: Uint8Array): readonly number[] =>
  [...free.keys()].filter(
    (byte) =>
      free[byte] === 255 &&
      new Set(cells.filter((cell) => isStill(cell, byte)).map((cell) => cell.value[byte])).size > 1,
  );

const RANGES_MOST = 64;
const SHORT_BYTES = 8;

/** Ranges of columns that text over pages may stand in: all of a short frame; of a long one those that begin and end where pages begin and cease to differ. */
function rangesOf(differs: readonly number[], bytes: number): readonly Range[] {
  const isShort = bytes <= SHORT_BYTES;
  const starts = isShort ? differs : differs.filter((byte) => !differs.includes(byte - 1));
  const ends = isShort ? differs : differs.filter((byte) => !differs.includes(byte + 1));
  const ranges = starts.flatMap((from) => ends.filter((to) => to >= from).map((to): Range => [from, to + 1]));
  return ranges.slice(0, RANGES_MOST);
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

/**
 * Whether the page before holds nearly the same byte there, or an earlier one the same, or it goes on with the step from the last but one: values that follow each other
 * are a table, and no text.
 */
function isRepeated(cells: readonly Cell[], index: number, { cell, byte, mask }: ByteRef): boolean {
  const bitsOf = (other: Cell | undefined): number => mask & ((cell.still[byte] as number) & (other?.still[byte] ?? 0));
  const [before, earlier] = [cells[index - 1], cells[index - 2]];
  const stepTo = (from: Cell, to: Cell): number => ((to.value[byte] as number) - (from.value[byte] as number)) & 255;
  if (before && bitsOf(before) === 255) {
    const step = stepTo(before, cell);
    if (step <= 1 || step === 255) return true;
    if (earlier && bitsOf(earlier) === 255 && step === stepTo(earlier, before)) return true;
  }
  return cells.slice(0, index).some((other) => {
    const bits = bitsOf(other);
    return bits !== 0 && (((other.value[byte] as number) ^ (cell.value[byte] as number)) & bits) === 0;
  });
}

export function overPages(cells: readonly Cell[], free: Uint8Array, { byte, mask }: PageIndex): Reading[] {
  const own = free.map((bits, at) => (at === byte ? bits & ~mask : bits));
  const refs = (cell: Cell, bits: Uint8Array, from: number, to: number): ByteRef[] =>
    refsOf(cell, bits, from, to).map((ref) => ({ ...ref, repeats: isRepeated(cells, cells.indexOf(cell), ref) }));
  const differs = differing(cells, own);
  const digits = decimalRange(cells, differs);
  const ranges = rangesOf(differs, own.length).flatMap(([from, to]) => {
    const onward = cells.flatMap((cell) => refs(cell, own, from, to));
    const turned = cells.flatMap((cell) => refs(cell, own, from, to).toReversed());
    const tapes = [onward, turned, onward.toReversed()].flatMap((each) => bothOrders('pages', each));
    return readBy(tapes, false, from === digits?.[0] && to === digits[1]);
  });
  // Bits that move on every page are beside the number; where they move on some, it is not on those.
  const still = own.map((bits, at) => bits & cells.reduce((all, cell) => all | (cell.still[at] as number), 0));
  const whole = cells.flatMap((cell) => refs(cell, still, 0, still.length));
  return [...ranges, ...readBy(allOrders('pages', whole), true)];
}
