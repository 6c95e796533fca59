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

export function overPages(cells: readonly Cell[], free: Uint8Array, { byte, mask }: PageIndex): Reading[] {
  const own = free.map((bits, at) => (at === byte ? bits & ~mask : bits));
  const differs = differing(cells, own);
  const lines = cells.map((_, index) => isTableLine(cells, index, differs));
  const isRepeated = (index: number, { cell, byte, mask: bits }: ByteRef): boolean =>
    (lines[index] && goesOn(cells, index, byte)) === true ||
    cells.slice(0, index).some((other) => isSameAt(cell, other, byte, bits));
  const refs = (cell: Cell, bits: Uint8Array, from: number, to: number): ByteRef[] =>
    refsOf(cell, bits, from, to).map((ref) => ({ ...ref, repeats: isRepeated(cells.indexOf(cell), ref) }));
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
