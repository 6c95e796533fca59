/**
 * Where the bits of one layout of a frame are drawn: a row a byte, bit 7 on the left; bytes alike that follow one another are folded to one row
 * in long payloads, and what is longer than a column goes on in the next drawing.
 */
import type { MapFrame } from '../../../map/schema.ts';
import { bitsOf, isUnclaimed, type Claim, type ClaimKind } from './claims.ts';

export interface BitRow {
  readonly firstByte: number;
  /** Differs where bytes are folded. */
  readonly lastByte: number;
}

/** Bits side by side in one row that belong to the same claim. */
export interface BitPiece {
  readonly row: number;
  readonly highBit: number;
  readonly lowBit: number;
  readonly kind: ClaimKind;
  /** As the table numbers it; "" for what nobody claims, "3/4" where two claim the same bits. */
  readonly number: string;
  /** On the widest piece of a claim, and on each of what nobody claims. */
  readonly label: string;
}

/** Least to most significant bit of a field that goes over several rows. */
export interface BitArrow {
  /** In order of significance; within a run from lowBit (right) to highBit (left). */
  readonly runs: readonly { readonly row: number; readonly lowBit: number; readonly highBit: number }[];
  /** Whether the least and the most significant bit are in this drawing. */
  readonly hasStart: boolean;
  readonly hasEnd: boolean;
}

export interface BitLayout {
  readonly group: string | null;
  readonly rows: readonly BitRow[];
  readonly pieces: readonly BitPiece[];
  readonly arrows: readonly BitArrow[];
}

const ROWS_MOST = 16;
/** Payloads up to this long are drawn whole. */
const WHOLE_UP_TO = 16;
const FOLD_FROM = 3;

/** Claims on a bit, those that someone makes before what is only left over. */
type Owners = readonly (readonly Claim[])[];

function ownersOf(frame: MapFrame, claims: readonly Claim[]): Owners {
  const owners: Claim[][] = Array.from({ length: frame.length * 8 }, () => []);
  for (const claim of claims) for (const bit of bitsOf(claim, frame)) owners[bit]?.push(claim);
  return owners.map((all) => {
    const claimed = all.filter((claim) => !isUnclaimed(claim));
    return claimed.length > 0 ? claimed : all.slice(0, 1);
  });
}

const nameOf = (claims: readonly Claim[]): string =>
  claims.map((claim) => (isUnclaimed(claim) ? claim.kind : `${claim.number}`)).join('/');

/** What a byte is where all of it is one thing; null where it is cut. */
function wholeByte(owners: Owners, byte: number): string | null {
  const first = nameOf(owners[byte * 8] ?? []);
  for (let bit = 1; bit < 8; bit++) if (nameOf(owners[byte * 8 + bit] ?? []) !== first) return null;
  return first;
}

function rowsOf(frame: MapFrame, owners: Owners): BitRow[] {
  const rows: BitRow[] = [];
  for (let byte = 0; byte < frame.length;) {
    const alike = wholeByte(owners, byte);
    let last = byte;
    if (frame.length > WHOLE_UP_TO && alike !== null)
      while (last + 1 < frame.length && wholeByte(owners, last + 1) === alike) last++;
    const folds = last - byte + 1 >= FOLD_FROM;
    rows.push({ firstByte: byte, lastByte: folds ? last : byte });
    byte = (folds ? last : byte) + 1;
  }
  return rows;
}

const hexOf = (value: number | string, bits: number): string =>
  typeof value === 'string'
    ? value
    : bits < 8
      ? String(value)
      : `0x${value.toString(16).toUpperCase().padStart(2, '0')}`;

function labelOf(claims: readonly Claim[], bits: number): string {
  const [first] = claims;
  if (!first) return '';
  if (!isUnclaimed(first)) return first.name;
  if (first.value !== null) return hexOf(first.value, bits);
  return first.kind === 'idle' ? '0' : first.kind;
}

interface Unlabelled extends Omit<BitPiece, 'label'> {
  readonly claims: readonly Claim[];
}

function piecesOfRow(row: BitRow, at: number, owners: Owners): Unlabelled[] {
  const pieces: Unlabelled[] = [];
  for (let high = 7; high >= 0;) {
    const claims = owners[row.firstByte * 8 + high] ?? [];
    let low = high;
    while (low > 0 && nameOf(owners[row.firstByte * 8 + low - 1] ?? []) === nameOf(claims)) low--;
    const [first] = claims;
    if (first) {
      const number = isUnclaimed(first) ? '' : nameOf(claims);
      pieces.push({ row: at, highBit: high, lowBit: low, kind: first.kind, number, claims });
    }
    high = low - 1;
  }
  return pieces;
}

const widthOf = ({ highBit, lowBit }: { highBit: number; lowBit: number }): number => highBit - lowBit + 1;

/** A claim is named once, on its widest piece; the most significant of equals. */
function labelled(pieces: readonly Unlabelled[]): BitPiece[] {
  const widest = new Map<string, Unlabelled>();
  for (const piece of pieces) {
    const known = widest.get(piece.number);
    if (!known || widthOf(piece) > widthOf(known)) widest.set(piece.number, piece);
  }
  return pieces.map(({ claims, ...piece }) => {
    const [first] = claims;
    const isNamed = piece.number === '' || widest.get(piece.number)?.row === piece.row;
    const bits = first ? bitsIn(first) : 0;
    return { ...piece, label: isNamed ? labelOf(claims, bits) : '' };
  });
}

const bitsIn = ({ placement }: Claim): number =>
  placement.length + (placement.continues ?? []).reduce((sum, { length }) => sum + length, 0);

/** null for a field within one row, and for one that runs through folded rows. */
function arrowOf(claim: Claim, frame: MapFrame, rows: readonly BitRow[]): BitArrow | null {
  const rowOf = new Map(rows.map((row, index) => [row.firstByte, index]));
  const folded = rows.some(
    ({ firstByte, lastByte }) =>
      lastByte > firstByte && bitsOf(claim, frame).some((bit) => bit >> 3 >= firstByte && bit >> 3 <= lastByte),
  );
  if (folded || isUnclaimed(claim)) return null;
  const bits = bitsOf(claim, frame);
  const runs: { row: number; lowBit: number; highBit: number }[] = [];
  for (const bit of bits) {
    const row = rowOf.get(bit >> 3);
    if (row === undefined) continue;
    const last = runs.at(-1);
    if (last && last.row === row && (bit & 7) === last.highBit + 1) last.highBit++;
    else runs.push({ row, lowBit: bit & 7, highBit: bit & 7 });
  }
  if (runs.length === 0 || (runs.length === 1 && bits.length <= 8)) return null;
  const hasStart = rowOf.has((bits[0] as number) >> 3);
  const hasEnd = rowOf.has((bits.at(-1) as number) >> 3);
  return { runs, hasStart, hasEnd };
}

/** One drawing for each column of rows. */
export function bitLayouts(frame: MapFrame, claims: readonly Claim[]): BitLayout[] {
  const owners = ownersOf(frame, claims);
  const all = rowsOf(frame, owners);
  const columns = Math.max(1, Math.ceil(all.length / ROWS_MOST));
  const tall = Math.ceil(all.length / columns);
  return Array.from({ length: columns }, (_, column) => {
    const rows = all.slice(column * tall, (column + 1) * tall);
    const pieces = labelled(rows.flatMap((row, index) => piecesOfRow(row, index, owners)));
    const arrows = claims.flatMap((claim) => arrowOf(claim, frame, rows) ?? []);
    return { group: frame.sender?.group ?? null, rows, pieces, arrows };
  });
}
