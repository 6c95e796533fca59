/** What a thread does, in words: for the ear, and for the table behind the weave. */
import { bitPositions } from '../../../frames/bits.ts';
import type { WeavePicture } from '../../../jobs/engine-types.ts';
import type { Band } from '../../pictures/bands-model.ts';
import { foldWords, rowFor, type WeaveLayout } from '../../pictures/weave-layout.ts';
import { percent } from '../../../kit/sheet-figures.ts';

/** The field whose bits include the thread. */
export const bandAt = (bands: readonly Band[], position: number): Band | null =>
  bands.find((band) => !band.refused && bitPositions(band.placement).includes(position)) ?? null;

export function threadWords(
  position: number,
  layout: WeaveLayout,
  bands: readonly Band[],
  picture: WeavePicture | null,
): string {
  const row = rowFor(layout, position);
  const place = row?.kind === 'folded' ? foldWords(row) : `byte ${position >> 3} bit ${position & 7}`;
  const band = bandAt(bands, position);
  const stats = picture ? shareWords(picture, position) : '';
  return [place, stats, band ? `in ${band.name || band.words}` : 'in no field'].filter(Boolean).join(', ');
}

export function shares(picture: WeavePicture, position: number): { set: number; changed: number } | null {
  const { columns } = picture.window;
  let frames = 0;
  let set = 0;
  let changed = 0;
  for (let column = 0; column < columns; column++) {
    const count = picture.frames[column] as number;
    const s = picture.set[position * columns + column] as number;
    if (count === 0 || s !== s) continue;
    frames += count;
    set += s * count;
    changed += (picture.changed[position * columns + column] as number) * count;
  }
  return frames ? { set: set / frames, changed: changed / frames } : null;
}

function shareWords(picture: WeavePicture, position: number): string {
  const share = shares(picture, position);
  return share ? `set in ${percent(share.set)} of frames, changes in ${percent(share.changed, 1)}` : '';
}
