/**
 * Paints the weave into pixels: one device column a picture column wide, rows by the layout, edges softened by the
 * share of a pixel they cover. Ground is left transparent, so that action columns show through. Pure: the caller
 * owns the canvas. Cost: rows * height * columns writes, a few milliseconds for 64 threads.
 */
import type { Gap, WeavePicture } from '../../jobs/engine-types.ts';
import { columnsOfRow, heldColumns } from './weave-columns.ts';
import type { WeaveLayout, WeaveRow } from './weave-layout.ts';
import type { Ramp } from './weave-shade.ts';
import { thickness } from './weave-shade.ts';

export interface WeavePaint {
  readonly ramp: Ramp;
  /** Packed colour of a bit that stays zero. */
  readonly rest: number;
  /** What darkness tells: the share set, or toggles per frame over one half. */
  readonly shows: 'set' | 'changed';
  /** Device pixels a CSS pixel, vertically. */
  readonly scale: number;
}

export interface Pixels {
  readonly width: number;
  readonly height: number;
  /** [width * height] packed RGBA. */
  readonly data: Uint32Array;
}

/** `cuts`: where threads do not go on besides the picture's gaps, such as after the last frame. */
export function paintWeave(
  picture: WeavePicture,
  layout: WeaveLayout,
  cuts: readonly Gap[],
  paint: WeavePaint,
): Pixels {
  const width = picture.window.columns;
  const height = Math.max(1, Math.ceil(layout.height * paint.scale));
  const pixels = { width, height, data: new Uint32Array(width * height) };
  const held = heldColumns({ ...picture, gaps: [...picture.gaps, ...cuts] });
  for (const row of layout.rows) paintRow(pixels, picture, row, held, paint);
  return pixels;
}

function paintRow(pixels: Pixels, picture: WeavePicture, row: WeaveRow, held: Int32Array, paint: WeavePaint): void {
  const { set, changed } = columnsOfRow(picture, row, held);
  const middle = (row.y + row.height / 2) * paint.scale;
  for (let column = 0; column < pixels.width; column++) {
    const s = set[column] as number;
    if (s !== s) continue;
    const c = changed[column] as number;
    const resting = s === 0 && c === 0;
    const share = paint.shows === 'set' ? s : Math.min(1, c / 0.5);
    const colour = resting ? paint.rest : (paint.ramp[Math.round(share * 255)] as number);
    const half = (thickness(c, s > 0, row.height) * paint.scale) / 2;
    paintColumn(pixels, column, middle - half, middle + half, colour);
  }
}

/** A vertical stroke top..bottom in device px; the two end pixels take the share they are covered by. */
function paintColumn(pixels: Pixels, column: number, top: number, bottom: number, colour: number): void {
  const first = Math.max(0, Math.floor(top));
  const last = Math.min(pixels.height - 1, Math.ceil(bottom) - 1);
  for (let y = first; y <= last; y++) {
    const covered = Math.min(bottom, y + 1) - Math.max(top, y);
    if (covered <= 0.01) continue;
    const alpha = Math.round(Math.min(1, covered) * 255);
    pixels.data[y * pixels.width + column] = ((colour & 0xffffff) | (alpha << 24)) >>> 0;
  }
}
