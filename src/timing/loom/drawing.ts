/** What every part of the loom's drawing needs, and how it turns heights of the whole picture into heights of the view. */
import type { Surface } from '../../kit/drawing/surface.ts';
import type { Palette } from '../../kit/drawing/palette.ts';
import type { LoomLayout } from './layout.ts';

export interface LoomContent {
  readonly layout: LoomLayout;
  /** Pixels of the whole picture that are above the view. */
  readonly scrollY: number;
  /** Keys of strands. */
  readonly selected: string | null;
  readonly hovered: string | null;
}

export interface Drawing extends LoomContent {
  readonly surface: Surface;
  readonly palette: Palette;
}

export const inView = ({ surface, scrollY }: Drawing, top: number, bottom: number): boolean =>
  bottom > scrollY && top < scrollY + surface.height;

/** About what a letter takes, as a share of its size: the surface cannot measure. */
export const LETTER = 0.54;

/** A cut name is better than one that runs into figures. */
export function cutText(text: string, width: number, size: number): string {
  const most = Math.floor(width / (size * LETTER));
  return text.length <= most ? text : most < 2 ? '' : `${text.slice(0, most - 1).trimEnd()}…`;
}
