/**
 * Text: bytes that hold letters and never move while their page is on, such as a serial number. A byte that means nothing is a letter or a
 * digit once in four times, so a few such bytes in a row, or the same bytes on page after page, are hardly chance; a padding that repeats
 * one letter is no text. Characters: ASCII (ECMA-6, 7-bit coded character set).
 */
import type { Piece, Placement } from '../frames/bits.ts';
import { blankSignal } from '../map/blank-signal.ts';
import { canCoincide } from '../map/pages.ts';
import type { When } from '../map/schema.ts';
import { placeName } from './describe.ts';
import { leftBy } from './mask.ts';
import { leavesOf, type NamedSelector } from './page-leaves.ts';
import type { PayloadRows } from './payload-rows.ts';
import type { FieldFinding } from './types.ts';

/** Frames that are read as one page. */
export interface TextPage {
  readonly when: When;
  /** "" for all frames. */
  readonly label: string;
  /** Numbers of its rows. */
  readonly rows: ArrayLike<number>;
  /** [bytes] bits that nothing else holds there. */
  readonly usable: Uint8Array;
}

const [SPACE, LAST_PRINTED] = [0x20, 0x7e];
const isLetter = (value: number): boolean =>
  (value >= 0x30 && value <= 0x39) || (value >= 0x41 && value <= 0x5a) || (value >= 0x61 && value <= 0x7a);
const isPrinted = (value: number): boolean => value >= SPACE && value <= LAST_PRINTED;
/** What is behind a text that is shorter than its place (common practice, no source). */
export const isTextPadding = (value: number): boolean => value === 0 || value === 0xff || value === SPACE;
export const isTextByte = (value: number): boolean => isPrinted(value) || isTextPadding(value);

/** Bits by which a byte that is a letter, or at least printed, speaks against chance. */
const LETTER_BITS = Math.log2(256 / 62);
const PRINTED_BITS = Math.log2(256 / 95);
/** One in four thousand by chance: some hundreds of places are looked at in a bus. */
const EVIDENCE_BITS = 12;
/** Different characters; fewer are a filling. */
const CHARACTERS_MIN = 4;

/** What different characters in different bytes speak against chance. columns: of each byte the values it holds. */
export function textEvidence(columns: readonly (readonly number[])[]): number {
  const printed = columns.flatMap((values) => [...new Set(values)].filter((value) => !isTextPadding(value)));
  if (new Set(printed).size < CHARACTERS_MIN || !printed.every(isPrinted)) return 0;
  return printed.length * (printed.every(isLetter) ? LETTER_BITS : PRINTED_BITS);
}
export const isTextEvidence = (bits: number): boolean => bits >= EVIDENCE_BITS;

/** [bytes] what each byte holds on a page, -1 where it moves or something else holds it. */
function stillBytes({ bytes, data }: PayloadRows, { rows, usable }: TextPage): Int16Array {
  const first = (rows[0] ?? 0) * bytes;
  const still = Int16Array.from({ length: bytes }, (_, byte) =>
    usable[byte] === 0xff ? (data[first + byte] as number) : -1,
  );
  for (let index = 1; index < rows.length; index++) {
    const at = (rows[index] as number) * bytes;
    for (let byte = 0; byte < bytes; byte++) if (data[at + byte] !== data[first + byte]) still[byte] = -1;
  }
  return still;
}

interface Run {
  readonly from: number;
  readonly to: number;
}

/** Longest runs of bytes for which `holds`. */
function runsOf(bytes: number, holds: (byte: number) => boolean): Run[] {
  const runs: Run[] = [];
  for (let from = 0; from < bytes; from++) {
    if (!holds(from)) continue;
    let to = from;
    while (to + 1 < bytes && holds(to + 1)) to++;
    runs.push({ from, to });
    from = to;
  }
  return runs;
}

/** Without the padding at its ends; null where nothing is left. */
function trimmed(still: Int16Array, { from, to }: Run): Run | null {
  let [first, last] = [from, to];
  while (last >= first && isTextPadding(still[last] as number)) last--;
  while (first <= last && isTextPadding(still[first] as number)) first++;
  return first <= last ? { from: first, to: last } : null;
}

const quoted = (still: Int16Array, { from, to }: Run): string =>
  `"${String.fromCharCode(...still.subarray(from, to + 1)).replaceAll('"', "'")}"`;

/** Chance is ruled out by the evidence; that the text is a part of a longer one is not. */
const SURE = 0.9;

function fieldOf(still: Int16Array, run: Run, { when, label }: TextPage, of: string): FieldFinding {
  const piece: Piece = { lsb: { byte: run.to, bit: 0 }, length: 8 * (run.to - run.from + 1), order: 'big' };
  const place: Piece = run.to === run.from ? { ...piece, order: 'little' } : piece;
  const name = `text_${placeName(piece)}${label === '' ? '' : `_page${label}`}`;
  const why = `Each byte is a character and none ever moves${label === '' ? '' : ' on this page'}: ${quoted(still, run)}.${of}`;
  return { ...blankSignal(place, name, when), coding: 'text', kind: 'text', confidence: SURE, why };
}

/** Bytes that hold characters, or here and there padding, on all pages, where all of them together are hardly chance. */
function columnsOfText(all: readonly Int16Array[], bytes: number): Run[] {
  const columns = (run: Run): number[][] =>
    Array.from({ length: run.to - run.from + 1 }, (_, at) => all.map((still) => still[run.from + at] as number));
  const isText = (byte: number): boolean => all.every((still) => isTextByte(still[byte] as number));
  const isEmpty = (byte: number): boolean => all.every((still) => isTextPadding(still[byte] as number));
  return runsOf(bytes, (byte) => isText(byte) && !isEmpty(byte)).filter((run) => {
    const cells = columns(run).flat();
    const characters = cells.filter((value) => !isTextPadding(value)).length;
    return 2 * characters >= cells.length && isTextEvidence(textEvidence(columns(run)));
  });
}

/** Texts of the pages, in the order of the pages. One text may go on over several of them. */
function textsIn(rows: PayloadRows, pages: readonly TextPage[]): FieldFinding[] {
  const all = pages.map((page) => stillBytes(rows, page));
  const columns = pages.length > 1 ? columnsOfText(all, rows.bytes) : [];
  const inColumn = (byte: number): boolean => columns.some(({ from, to }) => byte >= from && byte <= to);
  return all.flatMap((still, index) => {
    const page = pages[index] as TextPage;
    const own = runsOf(rows.bytes, (byte) => !inColumn(byte) && isPrinted(still[byte] as number)).filter((run) =>
      isTextEvidence(textEvidence([...still.subarray(run.from, run.to + 1)].map((value) => [value]))),
    );
    const runs = [
      ...columns.map((run) => ({ run, of: ' The other pages hold characters there too.' })),
      ...own.map((run) => ({ run, of: '' })),
    ];
    return runs.flatMap(({ run, of }) => {
      const left = trimmed(still, run);
      return left ? [fieldOf(still, left, page, of)] : [];
    });
  });
}

/** Texts that are always there. usable: [bytes] bits that nothing else holds. */
export const textsOf = (rows: PayloadRows, usable: Uint8Array): FieldFinding[] =>
  textsIn(rows, [{ when: null, label: '', rows: Array.from({ length: rows.count }, (_, row) => row), usable }]);

/**
 * Texts of each page, and those that are the same on all pages. selectors: the outer one first; fields: what moves on the pages;
 * usable: [bytes] bits that neither guards nor selectors hold.
 */
export function textsOfPages(
  rows: PayloadRows,
  selectors: readonly NamedSelector[],
  fields: readonly FieldFinding[],
  usable: Uint8Array,
): FieldFinding[] {
  const beside = (when: When): Uint8Array =>
    leftBy(usable, fields.filter((field) => canCoincide(field.when, when)) as readonly Placement[]);
  const always = textsOf(rows, beside(null));
  const pages = leavesOf(rows, selectors).map((leaf) => ({
    ...leaf,
    usable: leftBy(beside(leaf.when), always as readonly Placement[]),
  }));
  return [...always, ...textsIn(rows, pages)];
}
