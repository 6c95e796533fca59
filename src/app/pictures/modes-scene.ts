/**
 * The band of modes over time: a bar a span, the higher the more the vehicle does. Height and texture tell modes apart in a greyscale print;
 * the ink only supports them. Inks are those of hatches: hues of their own belong to senders, magenta to what is held.
 */
import { timeScale } from '../shell/time-scale.ts';
import type { Span } from '../stores/view.ts';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import type { Palette } from '../../kit/drawing/palette.ts';

export const MODES_HEIGHT = 26;
const FOOT = MODES_HEIGHT - 1.5;
const TALLEST = MODES_HEIGHT - 4;

type Texture = 'plain' | 'level' | 'upright' | 'slant';
type Outline = 'none' | 'level' | 'rising' | 'falling';

export interface ModeLook {
  /** Share of the band's height. */
  readonly high: number;
  readonly outline: Outline;
  readonly texture: Texture;
  /** Index into the palette's six hatch inks. */
  readonly ink: number;
}

const LOOKS: Readonly<Record<string, ModeLook>> = {
  asleep: { high: 0, outline: 'none', texture: 'plain', ink: 0 },
  waking: { high: 0.5, outline: 'rising', texture: 'plain', ink: 3 },
  on: { high: 0.4, outline: 'level', texture: 'plain', ink: 0 },
  ready: { high: 0.65, outline: 'level', texture: 'level', ink: 2 },
  driving: { high: 1, outline: 'level', texture: 'upright', ink: 1 },
  charging: { high: 1, outline: 'level', texture: 'slant', ink: 5 },
  'shutting down': { high: 0.5, outline: 'falling', texture: 'plain', ink: 4 },
};

/** "on 2" looks like "on": traffic of another kind under the same name, told by its word. */
export const modeLook = (mode: string): ModeLook => LOOKS[mode.replace(/ \d+$/, '')] ?? (LOOKS['on'] as ModeLook);

interface Box {
  readonly left: number;
  readonly right: number;
}

/** [x, y, ...] from foot to foot. */
function outlineOf({ left, right }: Box, { outline, high }: ModeLook, tallest: number, foot: number): number[] {
  const top = foot - high * tallest;
  const [from, to] = outline === 'rising' ? [foot, top] : outline === 'falling' ? [top, foot] : [top, top];
  return [left, foot, left, from, right, to, right, foot];
}

const PITCH: Readonly<Record<Texture, number>> = { plain: 0, level: 4, upright: 5, slant: 6 };

/** Lines anchored to the sheet, so that they stand still while the view moves past them. */
function drawTexture(
  surface: Surface,
  { left, right }: Box,
  top: number,
  foot: number,
  look: ModeLook,
  color: string,
): void {
  const pitch = PITCH[look.texture];
  if (pitch === 0) return;
  const stroke = { color, width: 1, alpha: 0.75 };
  if (look.texture === 'level') {
    for (let y = foot - pitch; y > top + 1; y -= pitch) surface.line(left, y, right, y, stroke);
    return;
  }
  const lean = look.texture === 'slant' ? foot - top : 0;
  surface.clip(left, top, right - left, foot - top, () => {
    for (let x = Math.ceil((left - lean) / pitch) * pitch; x < right; x += pitch)
      surface.line(x, foot, x + lean, top, stroke);
  });
}

function drawMode(surface: Surface, palette: Palette, box: Box, mode: string, tallest: number, foot: number): void {
  const look = modeLook(mode);
  const color = palette.hatches[look.ink] ?? palette.ink3;
  if (look.outline === 'none') {
    surface.line(box.left, foot, box.right, foot, { color: palette.ruleKey, width: 1.5, dash: [1.5, 3] });
    return;
  }
  const points = outlineOf(box, look, tallest, foot);
  surface.area(points, { color, alpha: 0.2 });
  if (look.outline === 'level') drawTexture(surface, box, foot - look.high * tallest, foot, look, color);
  surface.polyline(points, { color, width: 1.5 });
}

/** The shortest still shows as a line. */
const WIDTH_LEAST = 2;

export const modesScene =
  (spans: readonly (Span & { readonly mode: string })[], window: Span): Scene =>
  (surface, palette) => {
    const scale = timeScale(window, surface.width);
    for (const { mode, fromS, toS } of spans) {
      if (toS < window.fromS || fromS > window.toS) continue;
      const left = Math.max(-2, scale.x(fromS));
      const right = Math.min(surface.width + 2, Math.max(left + WIDTH_LEAST, scale.x(toS)));
      drawMode(surface, palette, { left, right }, mode, TALLEST, FOOT);
    }
  };

/** For the legend. */
export const modeSwatch =
  (mode: string): Scene =>
  (surface, palette) =>
    drawMode(surface, palette, { left: 1, right: surface.width - 1 }, mode, surface.height - 3, surface.height - 1.5);
