/** Pictures of Captures: one thread an identifier, thick where it moves, and the load of each bus. */
import type { LoadPicture, OverviewPicture } from '../../jobs/engine-types.ts';
import type { ReadingProgress } from '../../frames/reading-types.ts';
import { timeScale } from '../shell/time-scale.ts';
import type { ReadingStep } from '../stores/captures.ts';
import type { Span } from '../stores/view.ts';
import { crisp } from '../surface/canvas-surface.ts';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import type { Palette } from '../../kit/drawing/palette.ts';

/** Pixels from thread to thread; on a phone a row is a target for a thumb, with its name above its thread. */
export const THREAD_PITCH = 15;
export const THREAD_PITCH_NARROW = 44;

/** Share of the full thickness for a share of bits that toggle: half thickness at about 7 %, so that a quiet flag is still seen. */
export const movementWidth = (movement: number): number => Math.min(1, (Math.max(0, movement) / 0.25) ** 0.55);

export interface Thread {
  /** Seconds of the first and the last frame. */
  readonly firstS: number;
  readonly lastS: number;
  /** Row in the overview picture, or -1 where it has none. */
  readonly row: number;
}

const middle = (index: number, pitch: number): number =>
  pitch === THREAD_PITCH ? (index + 0.5) * pitch : (index + 1) * pitch - 12;

export const threadsScene =
  (threads: readonly Thread[], picture: OverviewPicture | null, window: Span, pitch = THREAD_PITCH): Scene =>
  (surface, palette) => {
    const scale = timeScale(window, surface.width);
    threads.forEach((thread, index) => {
      const y = middle(index, pitch);
      drawSpan(surface, palette, y, scale.x(thread.firstS), scale.x(thread.lastS));
      if (picture && thread.row >= 0) drawMovement(surface, palette, y, picture, thread.row, scale.x);
    });
  };

function drawSpan(surface: Surface, palette: Palette, y: number, from: number, to: number): void {
  if (to < 0 || from > surface.width) return;
  surface.line(Math.max(0, from), y, Math.min(surface.width, Math.max(to, from + 1)), y, { color: palette.threadRest });
  if (from >= 0) surface.line(crisp(from), y - 5, crisp(from), y + 5, { color: palette.ink2 });
}

/** Four depths of ink, so that a thread is a handful of fills however many columns it has. */
const DEPTHS = [0.34, 0.52, 0.72, 0.92];

function drawMovement(
  surface: Surface,
  palette: Palette,
  y: number,
  { window, frames, movement }: OverviewPicture,
  row: number,
  x: (atS: number) => number,
): void {
  const step = (window.toS - window.fromS) / window.columns;
  for (let column = 0; column < window.columns; column++) {
    const place = row * window.columns + column;
    if (!frames[place]) continue;
    const moved = movement[place] as number;
    const share = Number.isNaN(moved) ? 0 : movementWidth(moved);
    const left = x(window.fromS + column * step);
    const right = x(window.fromS + (column + 1) * step);
    if (right < 0 || left > surface.width) continue;
    const tall = share > 0 ? 2 + 7.2 * share : 1;
    const depth = DEPTHS[Math.min(DEPTHS.length - 1, Math.floor(share * DEPTHS.length))] as number;
    surface.rect(left, y - tall / 2, Math.max(1, right - left), tall, { color: palette.ink, alpha: depth });
  }
}

/** While reading: how many frames of each identifier came between one report and the next. */
export const growingScene =
  (progress: ReadingProgress, steps: readonly ReadingStep[], window: Span, pitch = THREAD_PITCH): Scene =>
  (surface, palette) => {
    const scale = timeScale(window, surface.width);
    progress.streams.forEach((stream, index) => {
      const y = middle(index, pitch);
      drawSpan(surface, palette, y, scale.x(stream.firstS), scale.x(stream.lastS));
      drawArrivals(surface, palette, y, index, steps, scale.x);
    });
    const reached = scale.x(progress.reachedS);
    surface.line(reached, 0, reached, surface.height, { color: palette.ink, width: 1.25, dash: [2, 3] });
  };

function drawArrivals(
  surface: Surface,
  palette: Palette,
  y: number,
  index: number,
  steps: readonly ReadingStep[],
  x: (atS: number) => number,
): void {
  let before: ReadingStep = { reachedS: 0, counts: [] };
  for (const step of steps) {
    const came = (step.counts[index] ?? 0) - (before.counts[index] ?? 0);
    const left = x(before.reachedS);
    if (came > 0 && step.reachedS > before.reachedS)
      surface.rect(left, y - 1.5, Math.max(1, x(step.reachedS) - left), 3, { color: palette.ink, alpha: 0.4 });
    before = step;
  }
}

export interface LoadRow {
  /** Greatest value of the axis: 0.8 or 1 for load, a round number for frames per second. */
  readonly most: number;
  readonly gaps: readonly Span[];
}

export const LOAD_HEIGHT = 58;

/** The top of the axis for values up to `peak`. */
export function axisMost(peak: number, measure: 'load' | 'frames-per-second'): number {
  if (measure === 'load') return peak > 0.78 ? 1 : peak > 0.2 ? 0.8 : 0.2;
  const power = 10 ** Math.floor(Math.log10(Math.max(peak, 1)));
  return [1, 2, 5, 10].map((n) => n * power).find((most) => most >= peak * 1.05) ?? peak;
}

export const loadScene =
  (
    bus: LoadPicture['buses'][number],
    picture: Span & { columns: number },
    { most, gaps }: LoadRow,
    window: Span,
  ): Scene =>
  (surface, palette) => {
    const scale = timeScale(window, surface.width);
    const foot = LOAD_HEIGHT - 6;
    const y = (v: number): number => foot - (Math.min(v, most) / most) * (foot - 4);
    const step = (picture.toS - picture.fromS) / picture.columns;
    const line: number[] = [];
    bus.values.forEach((v, column) =>
      line.push(scale.x(picture.fromS + (column + 0.5) * step), Number.isFinite(v) ? y(v) : NaN),
    );
    drawPieces(surface, palette, line, foot);
    surface.line(0, crisp(y(most / 2)), surface.width, crisp(y(most / 2)), {
      color: palette.rule2,
      width: 0.75,
      dash: [1, 3],
    });
    surface.line(0, foot + 0.5, surface.width, foot + 0.5, { color: palette.ruleKey });
    for (const gap of gaps) drawGap(surface, palette, scale.x(gap.fromS), scale.x(gap.toS), foot, gap.toS - gap.fromS);
  };

/** The line with the ground under it shaded, piece by piece between holes. */
function drawPieces(surface: Surface, palette: Palette, line: readonly number[], foot: number): void {
  let piece: number[] = [];
  const close = (): void => {
    if (piece.length >= 4)
      surface.area([piece[0] as number, foot, ...piece, piece[piece.length - 2] as number, foot], {
        color: palette.rule,
      });
    piece = [];
  };
  for (let i = 0; i < line.length; i += 2) {
    if (Number.isNaN(line[i + 1] as number)) close();
    else piece.push(line[i] as number, line[i + 1] as number);
  }
  close();
  surface.polyline(line, { color: palette.ink, width: 1.25 });
}

function drawGap(surface: Surface, palette: Palette, left: number, right: number, foot: number, lastsS: number): void {
  if (right < 0 || left > surface.width) return;
  surface.missing(left, 0, Math.max(3, right - left), foot);
  const words = `gap ${lastsS < 10 ? lastsS.toFixed(1) : lastsS.toFixed(0)} s`;
  if (left > 80)
    surface.text(left - 6, 12, words, { color: palette.ink2, size: 11, align: 'end', halo: palette.ground });
  else surface.text(right + 6, 12, words, { color: palette.ink2, size: 11, halo: palette.ground });
}
