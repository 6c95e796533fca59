/** A surface over a 2D canvas: sharp at any pixel density, colours as given, text in the sheet's faces. */
import type { Palette } from '../../kit/drawing/palette.ts';
import { hatchLines, hatchOf } from '../../kit/drawing/hatches.ts';
import type { Fill, Stroke, Surface, TextStyle } from '../../kit/drawing/surface.ts';

const SANS = '"Fira Sans", "Source Sans 3", "Segoe UI", "Noto Sans", system-ui, sans-serif';
const MONO = '"Fira Mono", "Cascadia Mono", "SF Mono", "DejaVu Sans Mono", monospace';

function fontOf(style: TextStyle): string {
  const face = style.mono ? MONO : SANS;
  return `${style.italic ? 'italic ' : ''}${style.weight ?? 400} ${style.size ?? 12}px ${face}`;
}

/** Odd hairlines fall on half pixels, so that one pixel of ink is one pixel of screen. */
export const crisp = (v: number): number => Math.round(v) + 0.5;

export function canvasSurface(
  context: CanvasRenderingContext2D,
  size: { readonly width: number; readonly height: number },
  palette: Palette,
): Surface {
  const stroking = (stroke: Stroke, path: () => void): void => {
    context.save();
    context.globalAlpha *= stroke.alpha ?? 1;
    context.strokeStyle = stroke.color;
    context.lineWidth = stroke.width ?? 1;
    context.lineJoin = 'round';
    if (stroke.dash) context.setLineDash([...stroke.dash]);
    context.beginPath();
    path();
    context.stroke();
    context.restore();
  };
  const filling = (fill: Fill, path: () => void): void => {
    context.save();
    context.globalAlpha *= fill.alpha ?? 1;
    context.fillStyle = fill.color;
    context.beginPath();
    path();
    context.fill();
    context.restore();
  };
  const trail = (points: ArrayLike<number>): void => {
    let down = false;
    for (let i = 0; i + 1 < points.length; i += 2) {
      const x = points[i] as number;
      const y = points[i + 1] as number;
      if (Number.isNaN(x) || Number.isNaN(y)) down = false;
      else if (down) context.lineTo(x, y);
      else {
        context.moveTo(x, y);
        down = true;
      }
    }
  };
  const surface: Surface = {
    ...size,
    line: (x1, y1, x2, y2, stroke) =>
      stroking(stroke, () => {
        context.moveTo(x1, y1);
        context.lineTo(x2, y2);
      }),
    polyline: (points, stroke) => stroking(stroke, () => trail(points)),
    area: (points, fill) =>
      filling(fill, () => {
        trail(points);
        context.closePath();
      }),
    rect: (x, y, width, height, fill) => filling(fill, () => context.rect(x, y, width, height)),
    frame: (x, y, width, height, stroke) => stroking(stroke, () => context.rect(x, y, width, height)),
    circle: (x, y, radius, { fill, stroke }) => {
      const path = (): void => context.arc(x, y, radius, 0, Math.PI * 2);
      if (fill) filling(fill, path);
      if (stroke) stroking(stroke, path);
    },
    text: (x, y, text, style) => {
      context.save();
      context.font = fontOf(style);
      context.textAlign = style.align === 'middle' ? 'center' : (style.align ?? 'start');
      if (style.halo) {
        context.strokeStyle = style.halo;
        context.lineWidth = 4;
        context.lineJoin = 'round';
        context.strokeText(text, x, y);
      }
      context.fillStyle = style.color;
      context.fillText(text, x, y);
      context.restore();
    },
    hatch: (x, y, width, height, action, alpha = 1) => {
      const hatch = hatchOf(action);
      const color = palette.hatches[hatch.ink] ?? palette.ink3;
      surface.rect(x, y, width, height, { color: palette.hatchWash });
      surface.clip(x, y, width, height, () => {
        const lines = hatchLines(hatch, x, y, width, height);
        stroking({ color, width: hatch.weight, alpha }, () => {
          for (let i = 0; i < lines.length; i += 4) {
            context.moveTo(lines[i] as number, lines[i + 1] as number);
            context.lineTo(lines[i + 2] as number, lines[i + 3] as number);
          }
        });
      });
      surface.line(x, y, x, y + height, { color, alpha });
      surface.line(x + width, y, x + width, y + height, { color, alpha });
    },
    missing: (x, y, width, height) => {
      surface.rect(x, y, width, height, { color: palette.ground });
      surface.clip(x, y, width, height, () =>
        filling({ color: palette.ruleKey }, () => {
          for (let dy = y + 3; dy < y + height; dy += 6)
            for (let dx = x + 3; dx < x + width; dx += 6) context.rect(dx - 0.8, dy - 0.8, 1.6, 1.6);
        }),
      );
    },
    image: (x, y, width, height, columns, rows, rgba) => {
      const pixels = new OffscreenCanvas(columns, rows);
      const target = pixels.getContext('2d');
      if (!target) return;
      target.putImageData(new ImageData(new Uint8ClampedArray(rgba), columns, rows), 0, 0);
      context.save();
      context.imageSmoothingEnabled = false;
      context.drawImage(pixels, x, y, width, height);
      context.restore();
    },
    clip: (x, y, width, height, draw) => {
      context.save();
      context.beginPath();
      context.rect(x, y, width, height);
      context.clip();
      draw();
      context.restore();
    },
  };
  return surface;
}
