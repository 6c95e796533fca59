/** The grid that a frame's bits are drawn on, and the pen for it. Lengths in CSS pixels. */
import type { Palette } from '../../../kit/drawing/palette.ts';
import type { Surface } from '../../../kit/drawing/surface.ts';
import type { BitLayout } from './bits-layout.ts';

export const CELL = 40;
export const ROW = 27;
export const LEFT = 40;
export const TOP = 18;
const RIGHT = 6;
const FOOT = 4;

export const bitsSize = ({ rows }: BitLayout): { readonly width: number; readonly height: number } => ({
  width: LEFT + 8 * CELL + RIGHT,
  height: TOP + rows.length * ROW + FOOT,
});

export interface Pen {
  readonly surface: Surface;
  readonly palette: Palette;
  /** Of the frame's sender. */
  readonly hue: string;
}
