/** One trace as a scene: action columns behind, a zero line where it crosses zero, the line on a casing of ground. */
import type { TracePicture } from '../../jobs/engine-types.ts';
import type { Gap } from '../../timing/types.ts';
import type { Scene } from '../../kit/drawing/surface.ts';
import type { ActionColumn, TimeSpan } from './weave-scene.ts';
import { drawColumns, xOf } from './weave-scene.ts';
import { heightOf, pointsOf, scaleFor } from './traces-model.ts';

export interface TraceQuestion {
  readonly window: TimeSpan;
  readonly picture: TracePicture | null;
  /** Another trace in the same unit, laid over this one on one scale. */
  readonly beside?: TracePicture | null;
  readonly gaps: readonly Gap[];
  readonly columns: readonly ActionColumn[];
  readonly color: string;
  /** 2 for the one that is held, 1.5 for others. */
  readonly width: number;
  /** Value at the cursor, drawn as a point; null without a cursor. */
  readonly cursor: { readonly atS: number; readonly value: number; readonly words: string } | null;
  /** Least and greatest in words, printed at the right end; null: not printed. */
  readonly range?: readonly [string, string] | null;
  /** Values that mean no data: they do not set the scale where it would be flat. */
  readonly fillings?: readonly number[];
  /** Margin above and below the line. */
  readonly margin?: number;
}

/** Gaps as long as the dashes: what lies beneath shows through where both go the same way. */
const OVER_DASH = [5, 5];

export function traceScene(question: TraceQuestion): Scene {
  return (surface, palette) => {
    const { window, picture, gaps, columns, color, width, cursor } = question;
    const margin = question.margin ?? 4;
    drawColumns(surface, palette, window, columns);
    surface.line(0, surface.height - 0.5, surface.width, surface.height - 0.5, { color: palette.rule2, width: 0.75 });
    if (!picture) return;
    const { beside } = question;
    const scale = scaleFor(
      beside ? widened(picture, beside) : picture,
      margin,
      surface.height - margin,
      question.fillings,
    );
    if (scale.least < 0 && scale.greatest > 0) {
      const zero = Math.round(heightOf(scale, 0)) + 0.5;
      surface.line(0, zero, surface.width, zero, { color: palette.ruleKey, width: 0.75 });
    }
    const points = pointsOf(picture, scale, gaps);
    stretch(points, picture, window, surface.width);
    const over = beside ? pointsOf(beside, scale, []) : null;
    if (over && beside) stretch(over, beside, window, surface.width);
    surface.clip(0, 0, surface.width, surface.height, () => {
      surface.polyline(points, { color: palette.ground, width: width + 2.5 });
      surface.polyline(points, { color, width });
      if (over) {
        surface.polyline(over, { color: palette.ground, width: 3, dash: OVER_DASH });
        surface.polyline(over, { color: palette.ink, width: 1.25, dash: OVER_DASH });
      }
    });
    if (question.range) {
      const style = { color: palette.ink3, size: 11, align: 'end', halo: palette.ground } as const;
      surface.text(surface.width - 3, 11, question.range[1], style);
      surface.text(surface.width - 3, surface.height - 6, question.range[0], style);
    }
    if (!cursor || cursor.value !== cursor.value) return;
    const x = xOf(window, surface.width, cursor.atS);
    if (x < 0 || x > surface.width) return;
    const y = heightOf(scale, cursor.value);
    surface.circle(x, y, 3.2, { fill: { color: palette.accent } });
    const rightmost = x > surface.width - 70;
    surface.text(rightmost ? x - 8 : x + 8, Math.min(surface.height - 5, Math.max(13, y - 4)), cursor.words, {
      color: palette.accent,
      weight: 500,
      halo: palette.ground,
      align: rightmost ? 'end' : 'start',
    });
  };
}

/** One range for both: what is laid over another must not be stretched to fit it. */
const widened = (picture: TracePicture, beside: TracePicture): TracePicture => ({
  ...picture,
  least: Math.min(picture.least, beside.least),
  greatest: Math.max(picture.greatest, beside.greatest),
});

/** From columns of the picture's window to pixels of the shown one, in place. */
function stretch(points: number[], picture: TracePicture, window: TimeSpan, width: number): void {
  const perColumn = (picture.window.toS - picture.window.fromS) / picture.window.columns;
  for (let i = 0; i < points.length; i += 2)
    points[i] = xOf(window, width, picture.window.fromS + (points[i] as number) * perColumn);
}
