/**
 * A story on one time axis of its own: in each step's row a stroke a repetition, a wash from the earliest to the latest, and a thread that leads from
 * each step's usual time down to the next. What may be chance is drawn in outline.
 */
import { ticks } from 'd3-array';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import type { Palette } from '../../kit/drawing/palette.ts';
import { fixed } from '../../kit/sheet-figures.ts';

export const STEP_HEIGHT = 30;
export const AXIS_HEIGHT = 20;
/** Room left and right of the axis, so that strokes at its ends are seen whole. */
const PAD = 12;
const TICK_WIDTH = 70;

const placed =
  (width: number, spanS: number) =>
  (s: number): number =>
    PAD + (s / spanS) * (width - 2 * PAD);

const ticksOf = (width: number, spanS: number): number[] =>
  ticks(0, spanS, Math.max(1, Math.floor(width / TICK_WIDTH)));

/** Milliseconds below a quarter of a second, else seconds. */
export const unitOf = (spanS: number): 'ms' | 's' => (spanS < 0.25 ? 'ms' : 's');

function tickWords(s: number, spanS: number, stepS: number): string {
  if (unitOf(spanS) === 'ms') return fixed(s * 1000, 0);
  return fixed(s, Math.max(0, Math.ceil(-Math.log10(stepS) - 1e-9)));
}

export const axisScene =
  (spanS: number): Scene =>
  (surface, palette) => {
    const x = placed(surface.width, spanS);
    const all = ticksOf(surface.width, spanS);
    const stepS = (all[1] ?? spanS) - (all[0] ?? 0);
    for (const s of all) {
      surface.line(x(s), surface.height - 4, x(s), surface.height, { color: palette.ink });
      const align = x(s) > surface.width - 20 ? 'end' : x(s) < 20 ? 'start' : 'middle';
      const words = `${tickWords(s, spanS, stepS)}${s === all.at(-1) ? ` ${unitOf(spanS)}` : ''}`;
      surface.text(x(s) + (align === 'start' ? -3 : 0), surface.height - 7, words, {
        color: palette.ink2,
        size: 11,
        align,
      });
    }
  };

export interface StepDrawn {
  /** [repetitions] seconds; NaN in those that lack it. */
  readonly delayS: readonly number[];
  readonly middleS: number;
  /** Usual times of the steps above and below; null at the ends. */
  readonly aboveS: number | null;
  readonly belowS: number | null;
  readonly spanS: number;
  readonly color: (palette: Palette) => string;
  readonly isSure: boolean;
  /** The repetition that is held. */
  readonly held: number | null;
}

export const stepScene =
  (step: StepDrawn): Scene =>
  (surface, palette) => {
    const x = placed(surface.width, step.spanS);
    const color = step.color(palette);
    for (const s of ticksOf(surface.width, step.spanS))
      surface.line(x(s), 0, x(s), surface.height, { color: palette.rule, width: 0.75 });
    drawThread(surface, palette, step, x);
    const known = step.delayS.filter((delay) => !Number.isNaN(delay));
    const [low, high] = [Math.min(...known), Math.max(...known)];
    const [top, foot] = [6, surface.height - 6];
    if (high > low) surface.rect(x(low), top, x(high) - x(low), foot - top, { color, alpha: 0.16 });
    step.delayS.forEach((delay, index) => {
      if (Number.isNaN(delay) || index === step.held) return;
      surface.line(x(delay), top, x(delay), foot, {
        color,
        width: step.isSure ? 2 : 1.5,
        ...(step.isSure ? { alpha: 0.8 } : { dash: [3, 2] }),
      });
    });
    drawHeld(surface, palette, step, x);
  };

/** From the step above to this one, and on to the row below. */
function drawThread(
  surface: Surface,
  palette: Palette,
  { aboveS, belowS, middleS }: StepDrawn,
  x: (s: number) => number,
): void {
  const own = x(middleS);
  const half = surface.height / 2;
  const stroke = { color: palette.ruleKey, width: 0.9 };
  if (aboveS !== null) surface.polyline([x(aboveS), 0, x(aboveS), 2, own, half - 2], stroke);
  if (belowS !== null) surface.line(own, half, own, surface.height, stroke);
}

function drawHeld(surface: Surface, palette: Palette, { held, delayS }: StepDrawn, x: (s: number) => number): void {
  const delay = held === null ? undefined : delayS[held];
  if (delay === undefined || Number.isNaN(delay)) return;
  surface.line(x(delay), 2, x(delay), surface.height - 2, { color: palette.accent, width: 2 });
}
