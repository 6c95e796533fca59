/** Pictures of Marks: one action's track, the witness above the tracks, and repetitions laid over each other. */
import type { DossierMark } from '../../jobs/dossier.ts';
import type { RepetitionsPicture, TracePicture } from '../../jobs/engine-types.ts';
import { timeScale } from '../shell/time-scale.ts';
import type { Span } from '../stores/view.ts';
import { hatchOf } from '../../kit/drawing/hatches.ts';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import type { Palette } from '../../kit/drawing/palette.ts';

export const TRACK_HEIGHT = 34;
const MARK_TOP = 5;
const MARK_HEIGHT = 24;

export const swatchScene =
  (action: number): Scene =>
  (surface, palette) => {
    surface.rect(0, 0, 16, 16, { color: palette.surface });
    surface.hatch(0.5, 0.5, 15, 15, action);
    surface.frame(0.5, 0.5, 15, 15, { color: palette.hatches[hatchOf(action).ink] ?? palette.ink3 });
  };

export const trackScene =
  (marks: readonly DossierMark[], action: number, window: Span): Scene =>
  (surface, palette) => {
    const scale = timeScale(window, surface.width);
    const color = palette.hatches[hatchOf(action).ink] ?? palette.ink3;
    const instants = marks.filter(({ endS }) => endS === null);
    const sides = labelSides(instants.map(({ startS, value }) => ({ x: scale.x(startS), words: value ?? '' })));
    instants.forEach((mark, index) =>
      drawInstant(surface, palette, scale.x(mark.startS), color, mark.value ?? '', sides[index] ?? 'none'),
    );
    for (const mark of marks) {
      const left = scale.x(mark.startS);
      if (mark.endS !== null)
        drawSpanMark(
          surface,
          palette,
          Math.max(-2, left),
          Math.min(surface.width + 2, scale.x(mark.endS)),
          action,
          mark.value ?? '',
        );
    }
  };

const LABEL_GAP = 7;
/** Wide enough for any letter of the 11 px face; a label is better left out than drawn into its neighbour. */
const LETTER_WIDTH = 6.6;

export type LabelSide = 'right' | 'left' | 'none';

/**
 * On which side of its flag each value has room: right if it ends before the next flag, else left if nothing stands
 * there, else nowhere until the view is nearer. `instants` in order of time, x in pixels.
 */
export function labelSides(instants: readonly { readonly x: number; readonly words: string }[]): LabelSide[] {
  let takenTo = 0;
  return instants.map(({ x, words }, index) => {
    const width = words.length * LETTER_WIDTH;
    const next = (instants[index + 1]?.x ?? Infinity) - LABEL_GAP;
    const side = x + LABEL_GAP + width <= next ? 'right' : x - LABEL_GAP - width >= takenTo ? 'left' : 'none';
    takenTo = x + LABEL_GAP + (side === 'right' ? width : 0);
    return words ? side : 'none';
  });
}

function drawInstant(
  surface: Surface,
  palette: Palette,
  x: number,
  color: string,
  value: string,
  side: LabelSide,
): void {
  if (x < -8 || x > surface.width + 8) return;
  surface.line(x, 4, x, 30, { color, width: 2 });
  surface.area([x - 5, 4, x + 5, 4, x, 11], { color });
  if (side === 'none') return;
  const [at, align] = side === 'right' ? [x + LABEL_GAP, 'start' as const] : [x - LABEL_GAP, 'end' as const];
  surface.text(at, 23, value, { color: palette.ink, size: 11, halo: palette.ground, align });
}

function drawSpanMark(
  surface: Surface,
  palette: Palette,
  left: number,
  right: number,
  action: number,
  value: string,
): void {
  if (right < 0 || left > surface.width) return;
  surface.hatch(left, MARK_TOP, Math.max(1.5, right - left), MARK_HEIGHT, action);
  if (value) surface.text(Math.max(4, left + 4), 21, value, { color: palette.ink, size: 11, halo: palette.ground });
}

export const WITNESS_HEIGHT = 56;

/** The field that answers best, so that one sees whether the marks sit where the vehicle says. */
export const witnessScene =
  (trace: TracePicture, window: Span): Scene =>
  (surface, palette) => {
    const scale = timeScale(window, surface.width);
    const foot = WITNESS_HEIGHT - 6;
    const range = trace.greatest - trace.least || 1;
    const y = (v: number): number => foot - ((v - trace.least) / range) * (foot - 6);
    const step = (trace.window.toS - trace.window.fromS) / trace.window.columns;
    const points: number[] = [];
    for (let column = 0; column < trace.window.columns; column++) {
      const x = scale.x(trace.window.fromS + (column + 0.5) * step);
      const low = trace.low[column] as number;
      const high = trace.high[column] as number;
      if (Number.isNaN(low)) continue;
      points.push(x, y(low));
      if (high !== low) points.push(x, y(high), x, y(trace.last[column] as number));
    }
    surface.polyline(points, { color: palette.ink2, width: 1.5 });
    surface.line(0, foot + 0.5, surface.width, foot + 0.5, { color: palette.rule2, width: 0.75 });
  };

export const REPETITIONS_HEIGHT = 92;

export const repetitionsScene =
  (picture: RepetitionsPicture, action: number, lastsS: number): Scene =>
  (surface, palette) => {
    const span = picture.beforeS + picture.afterS;
    const x = (s: number): number => ((s + picture.beforeS) / span) * surface.width;
    let least = Infinity;
    let most = -Infinity;
    for (const v of picture.values) {
      if (v < least) least = v;
      if (v > most) most = v;
    }
    const y = (v: number): number =>
      REPETITIONS_HEIGHT - 6 - ((v - least) / (most - least || 1)) * (REPETITIONS_HEIGHT - 14);
    surface.hatch(x(0), 1, Math.min(surface.width, x(lastsS)) - x(0), REPETITIONS_HEIGHT - 2, action, 0.45);
    for (let row = 0; row < picture.rows; row++) {
      const points: number[] = [];
      for (let column = 0; column < picture.columns; column++) {
        const v = picture.values[row * picture.columns + column] as number;
        points.push(((column + 0.5) / picture.columns) * surface.width, Number.isNaN(v) ? NaN : y(v));
      }
      surface.polyline(points, { color: palette.ink2, alpha: 0.75, width: 0.9 });
    }
    surface.frame(0.5, 0.5, surface.width - 1, REPETITIONS_HEIGHT - 1, { color: palette.rule2 });
  };

export const FEEL_HEIGHT = 96;

/** Press, hold, let go: drawn as far as `share` of the holding, dotted from there on. */
export const feelScene =
  (share: number): Scene =>
  (surface, palette) => {
    const low = FEEL_HEIGHT - 18;
    const high = 12;
    const x = (part: number): number => part * surface.width;
    const now = 0.24 + 0.5 * share;
    const rise = Array.from({ length: 21 }, (_, i) => [
      x(0.1 + 0.14 * (i / 20)),
      low - (low - high) * smooth(i / 20),
    ]).flat();
    const fall = Array.from({ length: 21 }, (_, i) => [
      x(0.74 + 0.12 * (i / 20)),
      high + (low - high) * smooth(i / 20),
    ]).flat();
    surface.polyline([0, low, ...rise, x(now), high], { color: palette.ink, width: 3 });
    surface.polyline([x(now), high, ...fall, surface.width, low], { color: palette.ruleKey, width: 1.5, dash: [2, 4] });
    surface.line(x(now), 0, x(now), low + 4, { color: palette.accent, width: 1.5 });
    surface.area([x(now) - 6, low + 16, x(now), low + 5, x(now) + 6, low + 16], { color: palette.accent });
    surface.text(x(now) + 8, high + 20, 'hold', { color: palette.ink, size: 13, italic: true, halo: palette.ground });
    surface.text(x(0.88), high + 20, 'let go', { color: palette.ink2, size: 13, italic: true, align: 'start' });
  };
const smooth = (t: number): number => t * t * (3 - 2 * t);
