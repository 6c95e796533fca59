/** Finds where the payload stands: in one cell, or in a run of columns with one byte each. */
import type { ColumnFacts } from './facts.ts';
import { parsePayload } from './payload-text.ts';
import type { ByteForm, DataForm } from './plan.ts';

export interface PayloadPlace {
  readonly data: { readonly column: number; readonly form: DataForm } | null;
  readonly bytes: { readonly column: number; readonly count: number; readonly form: ByteForm } | null;
  /** [rows] payload bytes that a row holds; -1 where it cannot be read. */
  readonly lengths: readonly number[];
  readonly words: string;
}

const MOSTLY = 0.9;
const LEAST_RUN = 2;

export function findPayload(facts: readonly ColumnFacts[], isFree: (column: number) => boolean): PayloadPlace | null {
  const announced = runAfterLength(facts, isFree);
  if (announced) return announced;
  const free = facts.filter(({ column }) => isFree(column));
  const cell = bestCell(free);
  const run = bestRun(facts, isFree);
  if (!cell || !run) return cell?.place ?? run;
  const { column, count } = run.bytes as NonNullable<PayloadPlace['bytes']>;
  const runIsNamed = facts[column]?.meaning === 'byte';
  const runBeginsAtCell = column === cell.place.data?.column && count > cell.bytes;
  if ((runIsNamed && count > 1) || runBeginsAtCell) return run;
  return cell.bytes >= Math.min(2, count) || cell.isNamed ? cell.place : run;
}

const isByteText = (cell: string | undefined): boolean =>
  cell !== undefined && /^(0x)?[0-9a-f]{1,2}h?$|^\d{3}$/i.test(cell);

/** A column of small numbers that is always followed by so many bytes: whatever stands behind them. */
function runAfterLength(facts: readonly ColumnFacts[], isFree: (column: number) => boolean): PayloadPlace | null {
  const found = facts.filter((each) => each.column + 3 < facts.length && announcesBytes(each, facts, isFree));
  const [best] = found.sort((a, b) => b.greatest - a.greatest);
  if (!best) return null;
  // Longer frames may come later: all byte columns that follow belong to the payload.
  const start = best.column + 1;
  let end = start + best.greatest;
  while (end < start + 64 && facts[end] && isFree(end) && looksLikeBytes(facts[end] as ColumnFacts)) end++;
  return placeOfRun(facts.slice(start, end), best);
}

const looksLikeBytes = (each: ColumnFacts): boolean =>
  each.filled > 0 &&
  Math.max(each.byteHex, each.byteDecimal) >= MOSTLY &&
  (each.meaning === null || each.meaning === 'byte');

function announcesBytes(
  each: ColumnFacts,
  facts: readonly ColumnFacts[],
  isFree: (column: number) => boolean,
): boolean {
  const { column, greatest } = each;
  if (each.whole < 1 || each.least < 0 || greatest > 64 || greatest < 3 || column + greatest >= facts.length)
    return false;
  if (each.meaning !== null && each.meaning !== 'length') return false;
  if (facts.slice(column + 1, column + 1 + greatest).some((other) => !isFree(other.column))) return false;
  const kept = each.cells.filter((cell, row) => {
    for (let i = 1; i <= Number(cell); i++) if (!isByteText(facts[column + i]?.cells[row])) return false;
    return cell !== '';
  });
  return kept.length >= each.rows * MOSTLY;
}

const OTHER_ROLES = new Set([
  'time',
  'id',
  'bus',
  'length',
  'direction',
  'counter',
  'delta',
  'date',
  'extended',
  'ascii',
  'checksum',
]);

function bestCell(facts: readonly ColumnFacts[]): { place: PayloadPlace; bytes: number; isNamed: boolean } | null {
  const scored = facts
    .map((each) => ({ each, score: cellScore(each) }))
    .filter(({ score }) => score > 0)
    .sort((a, b) => b.score - a.score);
  const [best] = scored;
  if (!best) return null;
  const { each } = best;
  const form = formOfCell(each);
  const lengths = each.cells.map((cell) => {
    const bytes = parsePayload(cell, form);
    return typeof bytes === 'string' ? -1 : bytes.length;
  });
  const place = {
    data: { column: each.column, form },
    bytes: null,
    lengths,
    words: `payload from column ${each.column + 1} as ${form}`,
  };
  return { place, bytes: each.payloadBytes, isNamed: each.meaning === 'data' };
}

function cellScore(each: ColumnFacts): number {
  const fits = Math.max(each.payloadHex, each.payloadDecimal, each.payloadBinary);
  if (fits < 0.5 || (fits < MOSTLY && each.meaning !== 'data')) return 0;
  const isNamed = each.meaning === 'data';
  // Many bytes in a cell are stronger evidence than a word over it.
  const isOther = each.meaning !== null && OTHER_ROLES.has(each.meaning);
  if (isOther && (each.payloadBytes < 4 || each.number > 0.5)) return 0;
  const bytes = each.payloadBinary >= MOSTLY ? 8 : each.payloadBytes;
  if (bytes < 1.5 && !isNamed && !isSpacedDecimal(each)) return 0;
  return (
    fits * Math.min(bytes, 8) +
    (isNamed ? 4 : 0) +
    (each.distinct > each.rows / 20 ? 1 : 0) -
    (each.rising > 0.97 && !isNamed ? 6 : 0)
  );
}

const isSpacedDecimal = (each: ColumnFacts): boolean =>
  each.cells.filter((cell) => /^\d{1,3}(\s+\d{1,3})+$/.test(cell)).length > each.rows / 2;

/** Binary digits look like hex too; decimal bytes show by values that hex pairs cannot have. */
function formOfCell(each: ColumnFacts): DataForm {
  if (each.payloadBinary >= MOSTLY) return 'binary';
  if (each.payloadHex >= each.payloadDecimal) {
    const hasLetters = each.cells.some((cell) => /[a-f]/i.test(cell.replace(/0x/gi, '')));
    const isDecimal =
      !hasLetters &&
      each.payloadDecimal >= MOSTLY &&
      isSpacedDecimal(each) &&
      each.cells.some((cell) => /\b[1-9]\b/.test(cell));
    return isDecimal ? 'decimal' : 'hex';
  }
  return 'decimal';
}

function bestRun(facts: readonly ColumnFacts[], isFree: (column: number) => boolean): PayloadPlace | null {
  const isByte = (each: ColumnFacts | undefined): boolean =>
    each !== undefined &&
    isFree(each.column) &&
    (each.meaning === null || each.meaning === 'byte' || each.meaning === 'data') &&
    each.filled > 0 &&
    Math.max(each.byteHex, each.byteDecimal) >= (each.meaning === 'byte' ? 0.5 : MOSTLY);
  let best: ColumnFacts[] = [];
  for (let from = 0; from < facts.length; from++) {
    let to = from;
    while (isByte(facts[to])) to++;
    const run = facts.slice(from, to);
    const named = run.filter(({ meaning }) => meaning === 'byte' || meaning === 'data');
    const isAnnounced = named.length >= LEAST_RUN || named[0]?.meaning === 'data';
    const kept = isAnnounced ? run.slice(run.indexOf(named[0] as ColumnFacts)) : run;
    if (kept.length > best.length) best = kept;
    from = Math.max(from, to);
  }
  const isNamed = best[0]?.meaning === 'byte' || best[0]?.meaning === 'data';
  if (best.length < (isNamed ? 1 : LEAST_RUN)) return null;
  return placeOfRun(isNamed ? best : startByLength(best, facts));
}

/** Drops leading columns that are not payload: by a length column, else by what a classical frame can hold. */
function startByLength(run: readonly ColumnFacts[], facts: readonly ColumnFacts[]): readonly ColumnFacts[] {
  for (let start = 0; start < run.length; start++) {
    const rest = run.slice(start);
    const before = facts.slice(0, (rest[0] as ColumnFacts).column);
    if (before.some((each) => agreesWithLength(each, rest))) return rest;
  }
  const least = run.length > 8 && run.length <= 16 ? run.length - 8 : 0;
  return run.slice(least);
}

function agreesWithLength(lengthFacts: ColumnFacts, run: readonly ColumnFacts[]): boolean {
  if (lengthFacts.whole < 1 || lengthFacts.least < 0 || lengthFacts.greatest > 64) return false;
  const agreeing = lengthFacts.cells.filter((cell, row) => Number(cell) === filledIn(run, row)).length;
  return agreeing >= lengthFacts.rows * 0.95;
}

const filledIn = (run: readonly ColumnFacts[], row: number): number =>
  run.filter(({ cells }) => cells[row] !== '').length;

function placeOfRun(run: readonly ColumnFacts[], length: ColumnFacts | null = null): PayloadPlace {
  const [first] = run as [ColumnFacts];
  const lengths = first.cells.map((_cell, row) => (length ? Number(length.cells[row]) : filledIn(run, row)));
  const form = formOfRun(run, lengths);
  const words = `payload from columns ${first.column + 1} to ${first.column + run.length}, one ${form} byte each`;
  return { data: null, bytes: { column: first.column, count: run.length, form }, lengths, words };
}

/** Hex where letters or 0x occur; decimal where a value needs three digits; else by padding. */
function formOfRun(run: readonly ColumnFacts[], lengths: readonly number[]): ByteForm {
  const cells = run.flatMap((each, i) => each.cells.filter((cell, row) => cell !== '' && i < (lengths[row] as number)));
  if (cells.some((cell) => /[a-f]/i.test(cell) || /^0x/i.test(cell))) return 'hex';
  if (cells.some((cell) => cell.length === 3)) return 'decimal';
  if (cells.some((cell) => /^0\d$/.test(cell))) return 'hex';
  // Values below 100 without a letter and without padding: hex bytes up to 0x63 would show some letters.
  return cells.some((cell) => cell.length === 2) ? 'decimal' : 'hex';
}
