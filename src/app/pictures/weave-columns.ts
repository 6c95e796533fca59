/**
 * From the engine's weave picture to what each row of the layout shows in each column: a set share and a toggle
 * share. A column without a frame holds the last value until the next frame, unless the engine calls the silence
 * a gap: then the thread is cut. Strips show the mean of their byte's bits.
 */
import type { WeavePicture } from '../../jobs/engine-types.ts';
import type { WeaveRow } from './weave-layout.ts';

export interface RowColumns {
  /** [columns] 0..1, NaN where the thread is cut. */
  readonly set: Float32Array;
  /** [columns] toggles per frame, NaN where the thread is cut. */
  readonly changed: Float32Array;
}

/** [columns] the column whose frames a column shows; -1 before the first frame and inside gaps. */
export function heldColumns(picture: WeavePicture): Int32Array {
  const { columns } = picture.window;
  const held = new Int32Array(columns).fill(-1);
  const cut = gapColumns(picture);
  let last = -1;
  for (let column = 0; column < columns; column++) {
    if ((picture.frames[column] as number) > 0) last = column;
    else if (cut[column]) last = -1;
    held[column] = last;
  }
  return held;
}

/** [columns] 1 where a gap covers the whole column. */
export function gapColumns({ window, gaps }: Pick<WeavePicture, 'window' | 'gaps'>): Uint8Array {
  const cut = new Uint8Array(window.columns);
  const perSecond = window.columns / (window.toS - window.fromS);
  for (const gap of gaps) {
    const first = Math.max(0, Math.floor((gap.fromS - window.fromS) * perSecond));
    const past = Math.min(window.columns, Math.ceil((gap.toS - window.fromS) * perSecond));
    if (past > first) cut.fill(1, first, past);
  }
  return cut;
}

/** The bits (byte * 8 + bit) whose mean a row shows. */
function bitsOfRow(row: WeaveRow): number[] {
  if (row.kind === 'thread') return [row.byte * 8 + row.bit];
  const last = row.kind === 'folded' ? row.lastByte : row.byte;
  return Array.from({ length: (last - row.byte + 1) * 8 }, (_, k) => row.byte * 8 + k);
}

export function columnsOfRow(picture: WeavePicture, row: WeaveRow, held: Int32Array): RowColumns {
  const { columns } = picture.window;
  const bits = bitsOfRow(row).filter((bit) => bit < picture.bytes * 8);
  const set = new Float32Array(columns);
  const changed = new Float32Array(columns);
  for (let column = 0; column < columns; column++) {
    const source = held[column] as number;
    if (source < 0 || bits.length === 0) {
      set[column] = changed[column] = Number.NaN;
      continue;
    }
    set[column] = meanAt(picture.set, bits, columns, source);
    changed[column] = source === column ? meanAt(picture.changed, bits, columns, column) : 0;
  }
  return { set, changed };
}

/** Mean over bits; a bit beyond the end of a short frame (NaN) does not count. */
function meanAt(values: Float32Array, bits: readonly number[], columns: number, column: number): number {
  let sum = 0;
  let count = 0;
  for (const bit of bits) {
    const value = values[bit * columns + column] as number;
    if (value !== value) continue;
    sum += value;
    count++;
  }
  return count ? sum / count : Number.NaN;
}
