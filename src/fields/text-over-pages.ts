/**
 * Text spread over pages, such as a serial number: a few payloads take turns, by a list or with so many characters that chance is ruled out,
 * nothing moves but from one of them to the next, and all that differs between them are characters, but for one byte, which names the page.
 * Reading such a frame frame after frame shows flags and counters of two values; reading it page by page nothing moves.
 */
import type { PayloadRows } from './payload-rows.ts';
import { countVisits, turnsOf } from './page-turns.ts';
import { COUNTING_VALUES, type CounterBits } from './selector-candidates.ts';
import type { SelectorFinding } from './selector-finding.ts';
import { leftBy, pieceOver } from './mask.ts';
import { isTextByte, isTextEvidence, textEvidence } from './text-bytes.ts';

/** Rows looked at: texts are sent slowly. */
const ROWS_MAX = 6000;
const PAGES_MAX = 16;
/** Payloads that came less often are a filling at the start, or an accident; so many rows at most may hold such. */
const VISITS_MIN = 3;
const ODD_ROWS = 0.02;

interface Payloads {
  /** [payloads] the first row of each. */
  readonly firsts: readonly number[];
  /** [rows] number of its payload. */
  readonly numbers: Uint8Array;
}

/** The different payloads under a mask; null where there are too many for pages of text. */
function payloadsOf({ bytes, data, count }: PayloadRows, mask: Uint8Array): Payloads | null {
  const watched = [...mask.keys()].filter((byte) => mask[byte] !== 0);
  const numbers = new Uint8Array(Math.min(count, ROWS_MAX));
  const firsts: number[] = [];
  const differs = (a: number, b: number): boolean =>
    watched.some(
      (byte) =>
        (((data[a * bytes + byte] as number) ^ (data[b * bytes + byte] as number)) & (mask[byte] as number)) !== 0,
    );
  for (let row = 0; row < numbers.length; row++) {
    let number = firsts.findIndex((first) => !differs(row, first));
    if (number < 0) number = firsts.push(row) - 1;
    if (number >= PAGES_MAX) return null;
    numbers[row] = number;
  }
  return { firsts, numbers };
}

/** Without the payloads that hardly ever came. */
function steadyOf({ firsts, numbers }: Payloads): Payloads | null {
  const { visits } = countVisits(numbers);
  const kept = numbers.filter((number) => (visits[number] as number) >= VISITS_MIN);
  if (kept.length < (1 - ODD_ROWS) * numbers.length) return null;
  return { firsts: firsts.filter((_, number) => (visits[number] as number) >= VISITS_MIN), numbers: kept };
}

const isRun = (values: readonly number[]): boolean =>
  values.every((value, index) => index === 0 || value === (values[index - 1] as number) + 1);

interface Column {
  readonly byte: number;
  /** The bits that may differ: no guard holds them. */
  readonly mask: number;
  /** [payloads] */
  readonly values: readonly number[];
}

/** The byte that names the page: the one that is no text; where all could be and the page may be so, the first whose values are one more each. */
function pageByte(columns: readonly Column[], mayBeText: boolean): Column | null {
  const apart = columns.filter(({ values }) => !values.every(isTextByte));
  if (apart.length > 1 || (apart.length === 0 && !mayBeText)) return null;
  const ascending = ({ values }: Column): readonly number[] => [...values].sort((a, b) => a - b);
  return apart[0] ?? columns.find((column) => isRun(ascending(column))) ?? null;
}

/** The bits of the page's byte that move, where they tell all payloads apart. */
function selectorAt({ byte, mask, values }: Column, listed: boolean): SelectorFinding | null {
  const moved = mask & values.reduce((bits, value) => bits | (value ^ (values[0] as number)), 0);
  const place = pieceOver(byte, moved);
  const { bit } = place.lsb;
  const pages = [...new Set(values.map((value) => (value >> bit) & ((1 << place.length) - 1)))].sort((a, b) => a - b);
  if (pages.length < values.length) return null;
  return { ...place, on: [], values: pages, listed, saved: 1, gain: Infinity, isList: false, holdsText: true };
}

/** [payloads] what each byte that differs between them holds; counters' bits as zeros. */
function columnsOf(
  { bytes, data }: PayloadRows,
  free: Uint8Array,
  mask: Uint8Array,
  firsts: readonly number[],
): Column[] {
  const columns: Column[] = [];
  mask.forEach((bits, byte) => {
    const beside = (free[byte] as number) & ~bits;
    const values = firsts.map((row) => (data[row * bytes + byte] as number) & ~beside);
    if (values.some((value) => ((value ^ (values[0] as number)) & bits) !== 0))
      columns.push({ byte, mask: bits, values });
  });
  return columns;
}

/** What characters must speak against chance where the payloads take turns by no list that was seen often enough. */
const UNLISTED_BITS = 24;

/** counters: what counts on beside the pages. mayBeText: whether the page's number may look like a character. */
function selectorBeside(
  rows: PayloadRows,
  free: Uint8Array,
  counters: readonly CounterBits[],
  mayBeText: boolean,
): SelectorFinding | null {
  const mask = leftBy(free, counters);
  const found = payloadsOf(rows, mask);
  const steady = found && steadyOf(found);
  const turns = steady && turnsOf(steady.numbers);
  if (!turns) return null;
  const columns = columnsOf(rows, free, mask, steady.firsts);
  const page = pageByte(columns, mayBeText);
  if (!page) return null;
  const texts = columns.filter((column) => column !== page);
  const evidence = textEvidence(texts.map(({ values }) => values));
  if (!isTextEvidence(evidence) || (!turns.listed && evidence < UNLISTED_BITS)) return null;
  return selectorAt(page, turns.listed);
}

/**
 * The selector of a frame whose pages hold nothing but text; null where it has none. free: [bytes] bits that move and that no guard
 * holds; counters: what counts there. It may count beside the pages, or be their number.
 */
export function textSelector(
  rows: PayloadRows,
  free: Uint8Array,
  counters: readonly CounterBits[],
): SelectorFinding | null {
  const long = counters.filter(({ min, max }) => max - min + 1 >= COUNTING_VALUES);
  return (
    selectorBeside(rows, free, counters, false) ??
    selectorBeside(rows, free, long, true) ??
    (long.length > 0 ? selectorBeside(rows, free, [], true) : null)
  );
}
