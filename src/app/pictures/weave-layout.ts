/**
 * Where each payload bit lies in the weave: threads from top to bottom, byte 0 bit 7 first. A payload that fits
 * keeps one thread a bit; a long one folds bytes that never move into one line; if the moving ones still do not fit, they
 * become strips, of which one may be opened at full pitch. Lengths are CSS pixels; knows nothing of canvas or of time.
 */
import type { Placement } from '../../frames/bits.ts';
import { bitPositions } from '../../frames/bits.ts';

const FULL_PITCH = 7;
const LEAST_PITCH = 3;
const BYTE_GAP = 5;
const STRIP_GAP = 3;
const STRIP_HEIGHT = 8;
const FOLD_HEIGHT = 9;

export type WeaveRow =
  | {
      readonly kind: 'thread';
      readonly byte: number;
      readonly bit: number;
      readonly y: number;
      readonly height: number;
    }
  | { readonly kind: 'strip'; readonly byte: number; readonly y: number; readonly height: number }
  | {
      readonly kind: 'folded';
      readonly byte: number;
      readonly lastByte: number;
      readonly y: number;
      readonly height: number;
    };

export interface WeaveLayout {
  readonly bytes: number;
  readonly pitch: number;
  readonly height: number;
  readonly folds: boolean;
  readonly rows: readonly WeaveRow[];
  /** [bytes * 8] the row that shows a bit; index byte * 8 + bit. */
  readonly rowOfBit: Int32Array;
}

export interface LayoutQuestion {
  readonly bytes: number;
  /** Height there is for the weave. */
  readonly available: number;
  /** Whether any bit of a byte ever changes. */
  readonly moves: (byte: number) => boolean;
  /** The byte opened at full pitch while others are folded. */
  readonly openByte: number | null;
}

const pitchFor = ({ bytes, available }: LayoutQuestion): number =>
  Math.min(FULL_PITCH, (available - BYTE_GAP * (bytes - 1)) / (bytes * 8));

function threadsOf(byte: number, y: number, pitch: number): WeaveRow[] {
  return Array.from({ length: 8 }, (_, k) => ({ kind: 'thread', byte, bit: 7 - k, y: y + k * pitch, height: pitch }));
}

function plainRows(bytes: number, pitch: number): WeaveRow[] {
  const stride = pitch * 8 + BYTE_GAP;
  return Array.from({ length: bytes }, (_, byte) => threadsOf(byte, byte * stride, pitch)).flat();
}

/** The last byte of the still run that starts at `byte`. */
function endOfStill(question: LayoutQuestion, byte: number): number {
  let last = byte;
  while (last + 1 < question.bytes && !question.moves(last + 1) && last + 1 !== question.openByte) last++;
  return last;
}

/** Pitch that is left for bytes that move once the still ones are folded. */
function pitchBesideFolds(question: LayoutQuestion): number {
  let folds = 0;
  let moving = 0;
  for (let byte = 0; byte < question.bytes; byte++) {
    if (question.moves(byte) || byte === question.openByte) moving++;
    else {
      folds++;
      byte = endOfStill(question, byte);
    }
  }
  return (question.available - folds * (FOLD_HEIGHT + STRIP_GAP) - moving * BYTE_GAP) / (8 * moving);
}

function foldedRows(question: LayoutQuestion): WeaveRow[] {
  const rows: WeaveRow[] = [];
  const beside = pitchBesideFolds(question);
  const pitchOf = (byte: number): number | null => {
    if (beside >= LEAST_PITCH) return Math.min(FULL_PITCH, beside);
    return byte === question.openByte ? FULL_PITCH : null;
  };
  let y = 0;
  for (let byte = 0; byte < question.bytes; byte++) {
    const moves = question.moves(byte) || byte === question.openByte;
    const pitch = pitchOf(byte);
    if (moves && pitch !== null) {
      rows.push(...threadsOf(byte, y, pitch));
      y += pitch * 8 + BYTE_GAP;
    } else if (moves) {
      rows.push({ kind: 'strip', byte, y, height: STRIP_HEIGHT });
      y += STRIP_HEIGHT + STRIP_GAP;
    } else {
      const lastByte = endOfStill(question, byte);
      rows.push({ kind: 'folded', byte, lastByte, y, height: FOLD_HEIGHT });
      y += FOLD_HEIGHT + STRIP_GAP;
      byte = lastByte;
    }
  }
  return rows;
}

function indexRows(bytes: number, rows: readonly WeaveRow[]): Int32Array {
  const rowOfBit = new Int32Array(bytes * 8);
  rows.forEach((row, index) => {
    if (row.kind === 'thread') rowOfBit[row.byte * 8 + row.bit] = index;
    else rowOfBit.fill(index, row.byte * 8, ((row.kind === 'folded' ? row.lastByte : row.byte) + 1) * 8);
  });
  return rowOfBit;
}

/** The layout for one payload; never higher than the threads need, possibly higher than `available` once folded. */
export function layoutWeave(question: LayoutQuestion): WeaveLayout {
  const pitch = pitchFor(question);
  const folds = pitch < LEAST_PITCH;
  const rows = folds ? foldedRows(question) : plainRows(question.bytes, pitch);
  const last = rows.at(-1);
  return {
    bytes: question.bytes,
    pitch: folds ? FULL_PITCH : pitch,
    folds,
    rows,
    height: last ? last.y + last.height : 0,
    rowOfBit: indexRows(question.bytes, rows),
  };
}

export const rowFor = (layout: WeaveLayout, position: number): WeaveRow | undefined =>
  layout.rows[layout.rowOfBit[position] ?? -1];

/** The payload bit under a height (byte * 8 + bit), the nearest where it falls between rows; -1 without rows. */
export function bitAtHeight(layout: WeaveLayout, y: number): number {
  let best = -1;
  let bestDistance = Infinity;
  for (const row of layout.rows) {
    const distance = y < row.y ? row.y - y : Math.max(0, y - row.y - row.height);
    if (distance < bestDistance) {
      bestDistance = distance;
      best = row.byte * 8 + bitInRow(row, y);
    }
  }
  return best;
}

function bitInRow(row: WeaveRow, y: number): number {
  if (row.kind === 'thread') return row.bit;
  const share = Math.min(0.999, Math.max(0, (y - row.y) / row.height));
  return 7 - Math.floor(share * 8);
}

/** A run of threads that a field covers, with the value bits at its ends. */
export interface Span {
  readonly top: number;
  readonly bottom: number;
  /** Weight of the value bit at the top and at the bottom: 0 is the least significant. */
  readonly topWeight: number;
  readonly bottomWeight: number;
  /** Payload bits at the two ends, byte * 8 + bit. */
  readonly topPosition: number;
  readonly bottomPosition: number;
}

const displayOrder = (position: number): number => (position >> 3) * 8 + 7 - (position & 7);

const edges = (layout: WeaveLayout, position: number): readonly [number, number] => {
  const row = rowFor(layout, position);
  if (!row) return [0, 0];
  return [row.y, row.y + row.height];
};

/** The runs of a field from top to bottom: one for a big-endian field, one a byte for a little-endian one. */
export function spansOf(layout: WeaveLayout, placement: Placement): Span[] {
  const bits = bitPositions(placement)
    .map((position, weight) => ({ position, weight, order: displayOrder(position) }))
    .filter(({ position }) => position >= 0 && position < layout.bytes * 8)
    .sort((a, b) => a.order - b.order);
  const runs: (typeof bits)[] = [];
  for (const bit of bits) {
    const before = runs.at(-1)?.at(-1);
    if (before && before.order + 1 === bit.order && before.weight - 1 === bit.weight) runs.at(-1)?.push(bit);
    else runs.push([bit]);
  }
  return runs.map((run) => spanOfRun(layout, run));
}

function spanOfRun(layout: WeaveLayout, run: readonly { readonly position: number; readonly weight: number }[]): Span {
  const first = run[0] as (typeof run)[number];
  const last = run.at(-1) as (typeof run)[number];
  return {
    top: edges(layout, first.position)[0],
    bottom: edges(layout, last.position)[1],
    topWeight: first.weight,
    bottomWeight: last.weight,
    topPosition: first.position,
    bottomPosition: last.position,
  };
}

/** Where a value's carry leaves one run and where it goes on: heights of the two threads. */
export interface Stitch {
  readonly from: number;
  readonly to: number;
}

export function stitchesOf(layout: WeaveLayout, placement: Placement): Stitch[] {
  const byWeight = spansOf(layout, placement).sort((a, b) => a.bottomWeight - b.bottomWeight);
  return byWeight.slice(1).map((span, index) => {
    const below = byWeight[index] as Span;
    return { from: middleOf(layout, below.topPosition), to: middleOf(layout, span.bottomPosition) };
  });
}

function middleOf(layout: WeaveLayout, position: number): number {
  const [top, bottom] = edges(layout, position);
  return (top + bottom) / 2;
}

/** "bytes 20–47 still", "byte 3 still". */
export const foldWords = (row: { readonly byte: number; readonly lastByte: number }): string =>
  row.byte === row.lastByte ? `byte ${row.byte} still` : `bytes ${row.byte}–${row.lastByte} still`;
