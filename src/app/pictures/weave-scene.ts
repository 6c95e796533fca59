/**
 * The weave as a scene: action columns behind, threads, gaps cut out with their length in words, rules between bytes,
 * brackets round what is held. The painted picture may be of an older window: it is stretched until the new one comes.
 */
import type { WeavePicture } from '../../jobs/engine-types.ts';
import type { Placement } from '../../frames/bits.ts';
import type { Palette } from '../../kit/drawing/palette.ts';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import { duration } from '../../kit/sheet-figures.ts';
import type { WeaveLayout } from './weave-layout.ts';
import { foldWords, spansOf } from './weave-layout.ts';
import type { Pixels } from './weave-paint.ts';

export interface TimeSpan {
  readonly fromS: number;
  readonly toS: number;
}

export interface ActionColumn {
  readonly startS: number;
  readonly endS: number | null;
  /** Place of its action among the tracks: decides the hatch. */
  readonly action: number;
  /** 0..1 */
  readonly alpha: number;
}

export interface WeaveQuestion {
  readonly window: TimeSpan;
  readonly layout: WeaveLayout;
  readonly painted: { readonly picture: WeavePicture; readonly pixels: Pixels } | null;
  readonly columns: readonly ActionColumn[];
  /** What is held: brackets stand outside of it. */
  readonly held: Placement | null;
  /** The thread that the keyboard is on; -1 none. */
  readonly thread: number;
}

export const xOf = (window: TimeSpan, width: number, atS: number): number =>
  ((atS - window.fromS) / (window.toS - window.fromS)) * width;

/** Action columns through a picture; an instant is a line. */
export function drawColumns(
  surface: Surface,
  palette: Palette,
  window: TimeSpan,
  columns: readonly ActionColumn[],
): void {
  for (const { startS, endS, action, alpha } of columns) {
    const left = xOf(window, surface.width, startS);
    const right = endS === null ? left : xOf(window, surface.width, endS);
    if (right < 0 || left > surface.width) continue;
    if (endS === null) {
      surface.line(left, 0, left, surface.height, {
        color: palette.hatches[action % 6] ?? palette.ink3,
        alpha: Math.min(1, alpha * 2),
        width: 1.5,
      });
      continue;
    }
    // Edges far outside need not be drawn: clamp, so that a long mark costs no more than a short one.
    const from = Math.max(left, -20);
    surface.hatch(from, 0, Math.min(right, surface.width + 20) - from, surface.height, action, alpha);
  }
}

export function weaveScene(question: WeaveQuestion): Scene {
  return (surface, palette) => {
    drawColumns(surface, palette, question.window, question.columns);
    if (question.painted) drawThreads(surface, question, question.painted);
    drawByteRules(surface, palette, question.layout);
    if (question.painted) drawGaps(surface, palette, question, question.painted.picture);
    if (question.held) drawBrackets(surface, palette, question.layout, question.held);
    if (question.thread >= 0) drawThreadMark(surface, palette, question);
  };
}

function drawThreads(
  surface: Surface,
  { window, layout }: WeaveQuestion,
  { picture, pixels }: NonNullable<WeaveQuestion['painted']>,
): void {
  const left = xOf(window, surface.width, picture.window.fromS);
  const right = xOf(window, surface.width, picture.window.toS);
  const bytes = new Uint8ClampedArray(pixels.data.buffer, pixels.data.byteOffset, pixels.data.byteLength);
  surface.clip(0, 0, surface.width, surface.height, () =>
    surface.image(
      left,
      0,
      right - left,
      (pixels.height / Math.max(1, pixels.height)) * Math.max(layout.height, 1),
      pixels.width,
      pixels.height,
      bytes,
    ),
  );
}

function drawByteRules(surface: Surface, palette: Palette, layout: WeaveLayout): void {
  for (const row of layout.rows) {
    const starts = row.kind !== 'thread' || row.bit === 7;
    if (starts && row.y > 0 && !layout.folds)
      surface.line(0, row.y - 2.5, surface.width, row.y - 2.5, { color: palette.rule, width: 0.75 });
    if (row.kind === 'folded')
      surface.text(8, row.y + row.height - 0.5, foldWords(row), {
        color: palette.ink3,
        size: 11,
        halo: palette.ground,
      });
  }
}

const GAP_LABEL_LEAST = 24;

function drawGaps(surface: Surface, palette: Palette, { window, layout }: WeaveQuestion, picture: WeavePicture): void {
  for (const gap of picture.gaps) {
    const left = Math.max(0, xOf(window, surface.width, gap.fromS));
    const right = Math.min(surface.width, xOf(window, surface.width, gap.toS));
    if (right - left < 1) continue;
    surface.missing(left, 0, right - left, layout.height);
    if (right - left < GAP_LABEL_LEAST && picture.gaps.length > 12) continue;
    surface.text((left + right) / 2, layout.height - 4, `${duration(gap.toS - gap.fromS)} missing`, {
      color: palette.ink2,
      size: 11,
      align: 'middle',
      halo: palette.ground,
    });
  }
}

/** Square brackets left and right of each run of the field. */
function drawBrackets(surface: Surface, palette: Palette, layout: WeaveLayout, held: Placement): void {
  const stroke = { color: palette.accent, width: 2 };
  for (const { top, bottom } of spansOf(layout, held)) {
    const [a, b, w] = [Math.max(1, top - 0.5), bottom + 0.5, surface.width];
    surface.polyline([9, a, 1, a, 1, b, 9, b], stroke);
    surface.polyline([w - 9, a, w - 1, a, w - 1, b, w - 9, b], stroke);
  }
}

function drawThreadMark(surface: Surface, palette: Palette, { layout, thread }: WeaveQuestion): void {
  const row = layout.rows[layout.rowOfBit[thread] ?? -1];
  if (!row) return;
  const y = row.y + row.height / 2;
  surface.area([0, y - 5, 8, y, 0, y + 5], { color: palette.accent });
  surface.area([surface.width, y - 5, surface.width - 8, y, surface.width, y + 5], { color: palette.accent });
}
