/**
 * Agreement against the offset tried: an inset with an axis of its own. The whole search has peak, runner-up and what chance reaches; the
 * loupe under it shows two seconds about the offset that is held, with the error of what was found.
 */
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import type { Palette } from '../../kit/drawing/palette.ts';
import { percent, signed } from '../../kit/sheet-figures.ts';
import { errorOf, peakOf, runnerUpOf, runnerUpShare, searchedSpan, type ClockCurve } from './agreement-model.ts';

export const CURVE_HEIGHT = 176;
export const LOUPE_HEIGHT = 92;
export const LOUPE_S = 2;
const AXIS = 22;
const ROOM = 1.1;

interface Frame {
  readonly fromS: number;
  readonly toS: number;
  readonly foot: number;
  readonly most: number;
  x(s: number): number;
  y(agreement: number): number;
}

function frameOf({ width, height }: Surface, clock: ClockCurve, fromS: number, toS: number): Frame {
  const foot = height - AXIS;
  const most = Math.max(...(clock.curve?.agreement ?? []), clock.chance ?? 0, 1e-9) * ROOM;
  return {
    fromS,
    toS,
    foot,
    most,
    x: (s) => ((s - fromS) / (toS - fromS)) * (width - 1),
    y: (agreement) => foot - (Math.max(0, agreement) / most) * (foot - 4),
  };
}

const STEPS = [0.5, 1, 2, 5, 10, 20, 50, 100, 300, 600, 1800, 3600];

function drawAxis(surface: Surface, palette: Palette, { fromS, toS, foot, x }: Frame): void {
  const step = STEPS.find((s) => ((toS - fromS) / s) * 56 <= surface.width) ?? 7200;
  for (let s = Math.ceil(fromS / step) * step; s <= toS; s += step) {
    surface.line(x(s), 0, x(s), foot, { color: palette.rule, width: 0.75 });
    surface.line(x(s), foot, x(s), foot + 4, { color: palette.ink });
    const align = x(s) < 14 ? 'start' : x(s) > surface.width - 14 ? 'end' : 'middle';
    surface.text(x(s), foot + 16, signed(s, step < 1 ? 1 : 0), { color: palette.ink2, size: 11, align });
  }
  surface.frame(0.5, 0.5, surface.width - 1, foot, { color: palette.rule2 });
}

function drawCurve(surface: Surface, palette: Palette, { curve }: ClockCurve, { fromS, toS, foot, x, y }: Frame): void {
  const line = (curve?.offsetS ?? []).flatMap((s, i) => [x(s), y(curve?.agreement[i] as number)]);
  surface.clip(0, 0, surface.width, foot, () => {
    surface.area([x(fromS), foot, ...line, x(toS), foot], { color: palette.hatchWash });
    surface.polyline(line, { color: palette.ink, width: 1.6 });
  });
}

function drawHeld(surface: Surface, palette: Palette, { fromS, toS, foot, x }: Frame, heldS: number): void {
  if (heldS < fromS || heldS > toS) return;
  surface.line(x(heldS), 0, x(heldS), foot, { color: palette.accent, width: 1.25 });
  const right = x(heldS) > surface.width * 0.7;
  surface.text(x(heldS) + (right ? -9 : 9), 16, `${signed(heldS, 2)} s`, {
    color: palette.accent,
    weight: 500,
    align: right ? 'end' : 'start',
    halo: palette.ground,
  });
}

export const agreementScene =
  (clock: ClockCurve, heldS: number): Scene =>
  (surface, palette) => {
    const span = searchedSpan(clock);
    if (!span) return;
    const frame = frameOf(surface, clock, span.fromS, span.toS);
    const { x, y } = frame;
    drawAxis(surface, palette, frame);
    drawCurve(surface, palette, clock, frame);
    if (clock.chance !== null) {
      surface.line(0, y(clock.chance), surface.width, y(clock.chance), { color: palette.ruleKey, dash: [4, 3] });
      surface.text(8, y(clock.chance) - 6, 'chance: once in 1,000', {
        color: palette.ink2,
        size: 11,
        italic: true,
        halo: palette.ground,
      });
    }
    drawHeld(surface, palette, frame, heldS);
    const peak = peakOf(clock);
    if (peak) surface.circle(x(peak.offsetS), y(peak.agreement), 3.5, { fill: { color: palette.ink } });
    drawRunnerUp(surface, palette, clock, frame);
  };

const WORDS_WIDTH = 128;
const EDGE = 6;

/** An open ring, and how near it comes to the peak. */
function drawRunnerUp(surface: Surface, palette: Palette, clock: ClockCurve, { x, y }: Frame): void {
  const [runnerUp, share, peak] = [runnerUpOf(clock), runnerUpShare(clock), peakOf(clock)];
  if (!runnerUp || share === null || !peak) return;
  const [atX, atY] = [x(runnerUp.offsetS), y(runnerUp.agreement)];
  surface.circle(atX, atY, 4, { fill: { color: palette.ground }, stroke: { color: palette.ink, width: 1.5 } });
  // Away from the peak; without room there above the ring, from the edge of the picture on.
  const isRight = runnerUp.offsetS > peak.offsetS;
  const hasRoom = isRight ? atX < surface.width - WORDS_WIDTH : atX > WORDS_WIDTH;
  const fromX = hasRoom ? atX + (isRight ? 9 : -9) : isRight ? surface.width - EDGE : EDGE;
  surface.text(fromX, atY - (hasRoom ? 5 : 11), `runner-up ${signed(runnerUp.offsetS, 1)} s, ${percent(share)}`, {
    color: palette.ink,
    size: 11,
    align: hasRoom === isRight ? 'start' : 'end',
    halo: palette.ground,
  });
}

export const loupeScene =
  (clock: ClockCurve, heldS: number, middleS: number): Scene =>
  (surface, palette) => {
    const frame = frameOf(surface, clock, middleS - LOUPE_S, middleS + LOUPE_S);
    const { x, foot } = frame;
    drawAxis(surface, palette, frame);
    drawCurve(surface, palette, clock, frame);
    const error = errorOf(clock);
    if (error !== null)
      surface.clip(0, 0, surface.width, foot, () => {
        const [left, right] = [x(clock.offsetS - error), x(clock.offsetS + error)];
        surface.rect(left, 1, Math.max(1, right - left), foot - 1, { color: palette.ruleKey, alpha: 0.3 });
        for (const edge of [left, right]) surface.line(edge, 1, edge, foot, { color: palette.ink2, width: 0.75 });
      });
    drawHeld(surface, palette, frame, heldS);
  };
