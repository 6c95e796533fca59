/** The ruler's two pictures: the graduated border of the span in view, and the whole capture under it. */
import type { LoadPicture } from '../../jobs/engine-types.ts';
import type { DossierMark } from '../../jobs/dossier.ts';
import { barStep, figureDigits, figureStep, timeScale } from '../shell/time-scale.ts';
import type { ReadingStep } from '../stores/captures.ts';
import type { Span } from '../stores/view.ts';
import { hatchOf } from '../../kit/drawing/hatches.ts';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import type { Palette } from '../../kit/drawing/palette.ts';
import { clock } from '../../kit/sheet-figures.ts';

export const RULER_HEIGHT = 44;
export const OVERVIEW_HEIGHT = 30;
const BAR_TOP = 8;
const BAR_HEIGHT = 7;
const FIGURE_WIDTH = 64;
const CURSOR_CLEARANCE = 34;

export interface RulerContent {
  readonly window: Span;
  readonly cursorS: number | null;
  /** The cursor's time under its pin, where there is no other place for it. */
  readonly named?: boolean;
}

export const rulerScene =
  ({ window, cursorS, named }: RulerContent): Scene =>
  (surface, palette) => {
    const scale = timeScale(window, surface.width);
    drawBars(surface, palette, window);
    drawFigures(surface, palette, window, cursorS);
    if (cursorS === null || cursorS < window.fromS || cursorS > window.toS) return;
    const x = scale.x(cursorS);
    surface.line(x, 0, x, BAR_TOP + BAR_HEIGHT + 3, { color: palette.accent, width: 1.25 });
    surface.area([x - 6, 31, x, 19, x + 6, 31], { color: palette.accent });
    if (!named) return;
    const align = x < 24 ? 'start' : x > surface.width - 24 ? 'end' : 'middle';
    surface.text(x, 43, clock(cursorS), { color: palette.accent, size: 12, weight: 500, align });
  };

function drawBars(surface: Surface, palette: Palette, window: Span): void {
  const scale = timeScale(window, surface.width);
  const step = barStep(window.toS - window.fromS, surface.width);
  for (let k = Math.floor(window.fromS / step); k * step < window.toS; k++) {
    if (k % 2 !== 0) continue;
    const left = Math.max(0, scale.x(k * step));
    const right = Math.min(surface.width, scale.x((k + 1) * step));
    surface.rect(left, BAR_TOP, Math.max(0, right - left), BAR_HEIGHT, { color: palette.ink });
  }
  surface.frame(0.5, BAR_TOP + 0.5, surface.width - 1, BAR_HEIGHT - 1, { color: palette.ink });
}

function drawFigures(surface: Surface, palette: Palette, window: Span, cursorS: number | null): void {
  const scale = timeScale(window, surface.width);
  const step = figureStep(window.toS - window.fromS, surface.width, FIGURE_WIDTH);
  const digits = figureDigits(step);
  const cursorX = cursorS === null ? -Infinity : scale.x(cursorS);
  for (let k = Math.ceil(window.fromS / step - 1e-9); k * step <= window.toS + step * 1e-9; k++) {
    const x = scale.x(k * step);
    surface.line(x, BAR_TOP + BAR_HEIGHT, x, BAR_TOP + BAR_HEIGHT + 4, { color: palette.ink });
    if (Math.abs(x - cursorX) < CURSOR_CLEARANCE) continue;
    const align = x < 16 ? 'start' : x > surface.width - 16 ? 'end' : 'middle';
    surface.text(x, BAR_TOP + BAR_HEIGHT + 16, clock(k * step, digits), { color: palette.ink2, size: 11, align });
  }
}

export interface OverviewContent {
  readonly domain: Span;
  readonly window: Span;
  readonly cursorS: number | null;
  readonly load: LoadPicture | null;
  /** While reading: what has come so far. */
  readonly steps: readonly ReadingStep[] | null;
  readonly marks: readonly DossierMark[];
  readonly actions: readonly string[];
  readonly gaps: readonly Span[];
  readonly trim: Span | null;
}

const TOP = 4;
const TALL = 20;
const FOOT = TOP + TALL;

export const overviewScene =
  (content: OverviewContent): Scene =>
  (surface, palette) => {
    const { domain, window, cursorS } = content;
    const scale = timeScale(domain, surface.width);
    const outline = content.load
      ? loadOutline(content.load, surface.width)
      : stepsOutline(content.steps ?? [], scale.x);
    if (outline.length) surface.area(outline, { color: palette.rule });
    surface.line(0, FOOT + 0.5, surface.width, FOOT + 0.5, { color: palette.ruleKey });
    for (const mark of content.marks) drawTick(surface, palette, mark, content.actions, scale.x);
    for (const { fromS, toS } of content.gaps) {
      const left = scale.x(fromS);
      surface.missing(left, TOP, Math.max(2, scale.x(toS) - left), TALL);
    }
    if (content.trim) drawTrim(surface, palette, content.trim, scale.x);
    if (window.fromS > domain.fromS || window.toS < domain.toS)
      drawBrackets(surface, palette, scale.x(window.fromS), scale.x(window.toS));
    if (cursorS !== null) {
      const x = scale.x(cursorS);
      surface.line(x, TOP - 2, x, FOOT + 1, { color: palette.accent, width: 1.5 });
    }
  };

function loadOutline({ buses, window }: LoadPicture, width: number): number[] {
  const sums = Array.from({ length: window.columns }, (_, column) =>
    buses.reduce(
      (sum, bus) => sum + (Number.isFinite(bus.values[column] as number) ? (bus.values[column] as number) : 0),
      0,
    ),
  );
  const most = Math.max(...sums, 1e-9);
  const pixel = width / window.columns;
  const points = [0, FOOT];
  sums.forEach((sum, column) => points.push((column + 0.5) * pixel, FOOT - (sum / most) * (TALL - 4)));
  return [...points, width, FOOT];
}

/** Frames a second between one report of the reader and the next. */
function stepsOutline(steps: readonly ReadingStep[], x: (atS: number) => number): number[] {
  if (steps.length < 2) return [];
  const totals = steps.map(({ counts }) => counts.reduce((sum, n) => sum + n, 0));
  const rates = steps.map((step, i) => {
    const before = steps[i - 1];
    const took = step.reachedS - (before?.reachedS ?? 0);
    return took > 0 ? ((totals[i] as number) - (i ? (totals[i - 1] as number) : 0)) / took : 0;
  });
  const most = Math.max(...rates, 1e-9);
  const points = [0, FOOT];
  steps.forEach((step, i) => points.push(x(step.reachedS), FOOT - ((rates[i] as number) / most) * (TALL - 4)));
  return [...points, x((steps.at(-1) as ReadingStep).reachedS), FOOT];
}

function drawTick(
  surface: Surface,
  palette: Palette,
  mark: DossierMark,
  actions: readonly string[],
  x: (atS: number) => number,
): void {
  const color = palette.hatches[hatchOf(actions.indexOf(mark.action)).ink] ?? palette.ink3;
  const left = x(mark.startS);
  const right = mark.endS === null ? left + 1.5 : x(mark.endS);
  surface.rect(left, FOOT - 5, Math.max(1.5, right - left), 5, { color });
}

function drawTrim(surface: Surface, palette: Palette, trim: Span, x: (atS: number) => number): void {
  surface.rect(0, TOP, x(trim.fromS), TALL, { color: palette.ground, alpha: 0.72 });
  surface.rect(x(trim.toS), TOP, surface.width - x(trim.toS), TALL, { color: palette.ground, alpha: 0.72 });
}

function drawBrackets(surface: Surface, palette: Palette, left: number, right: number): void {
  const stroke = { color: palette.ink, width: 2 };
  const from = Math.max(1, left);
  const to = Math.min(surface.width - 1, Math.max(right, from + 3));
  surface.polyline([from + 5, TOP - 2, from, TOP - 2, from, FOOT + 3, from + 5, FOOT + 3], stroke);
  surface.polyline([to - 5, TOP - 2, to, TOP - 2, to, FOOT + 3, to - 5, FOOT + 3], stroke);
}
