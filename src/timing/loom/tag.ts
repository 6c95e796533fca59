/** A sender's letter in a frame of its hue; the letter itself is ink, for hues are no text colours. */
import type { Surface } from '../../kit/drawing/surface.ts';
import { groupColor, isHueRepeated, type Palette } from '../../kit/drawing/palette.ts';

export const tagWidth = (group: string): number => 16 + 7 * (group.length - 1);

export function drawTag(surface: Surface, palette: Palette, group: string, x: number, y: number): void {
  const width = tagWidth(group);
  surface.rect(x, y, width, 16, { color: palette.ground });
  surface.frame(x + 1, y + 1, width - 2, 14, {
    color: groupColor(palette, group),
    width: 2,
    ...(isHueRepeated(group) ? { dash: [3, 2] } : {}),
  });
  surface.text(x + width / 2, y + 12, group, { color: palette.ink, size: 12, weight: 600, align: 'middle' });
}
