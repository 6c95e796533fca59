/**
 * What pictures draw on. A scene is a plain function of a surface and a palette, so that the same
 * scene goes to a canvas, and in a test to a list of what was drawn. Lengths are CSS pixels.
 */
import type { Palette } from './palette.ts';

export interface Stroke {
  readonly color: string;
  /** CSS pixels, 1 where left out. */
  readonly width?: number;
  readonly dash?: readonly number[];
  /** 0..1 */
  readonly alpha?: number;
}
export interface Fill {
  readonly color: string;
  readonly alpha?: number;
}
export interface TextStyle {
  readonly color: string;
  /** 11 is the smallest; 12 where left out. */
  readonly size?: number;
  readonly weight?: 300 | 400 | 500 | 600;
  readonly italic?: boolean;
  readonly mono?: boolean;
  readonly align?: 'start' | 'middle' | 'end';
  /** Colour of a 4 px edge round the letters, so that they read over lines. */
  readonly halo?: string;
}

export interface Surface {
  readonly width: number;
  readonly height: number;
  line(x1: number, y1: number, x2: number, y2: number, stroke: Stroke): void;
  /** [x, y, x, y, ...]; a NaN pair lifts the pen. */
  polyline(points: ArrayLike<number>, stroke: Stroke): void;
  /** [x, y, x, y, ...], closed and filled. */
  area(points: ArrayLike<number>, fill: Fill): void;
  rect(x: number, y: number, width: number, height: number, fill: Fill): void;
  frame(x: number, y: number, width: number, height: number, stroke: Stroke): void;
  circle(x: number, y: number, radius: number, style: { readonly fill?: Fill; readonly stroke?: Stroke }): void;
  /** (x, y) is the baseline. */
  text(x: number, y: number, text: string, style: TextStyle): void;
  /** The hatch of the action at this index (see hatches.ts): wash, lines, and the two edges. */
  hatch(x: number, y: number, width: number, height: number, action: number, alpha?: number): void;
  /** The dotted field that stands where something is missing. */
  missing(x: number, y: number, width: number, height: number): void;
  /** Pixels [columns * rows * 4], stretched without smoothing over the rectangle. */
  image(
    x: number,
    y: number,
    width: number,
    height: number,
    columns: number,
    rows: number,
    rgba: Uint8ClampedArray,
  ): void;
  /** What `draw` draws is cut at the rectangle. */
  clip(x: number, y: number, width: number, height: number, draw: () => void): void;
}

export type Scene = (surface: Surface, palette: Palette) => void;
