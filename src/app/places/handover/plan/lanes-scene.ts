/**
 * Lanes drawn: a bar where a frame is due, in its sender's hue; a dot in it where a counter runs, a notch where a checksum is made anew. Open where its
 * place within the period is unknown, a thin line where it cannot be produced.
 */
import { ticks } from 'd3-array';
import type { Scene, Surface } from '../../../../kit/drawing/surface.ts';
import { groupColor, type Palette } from '../../../../kit/drawing/palette.ts';
import { count } from '../../../../kit/sheet-figures.ts';
import type { Lane } from './lanes.ts';

/** Above the first lane: the axis. */
export const AXIS_HEIGHT = 22;
const BAR = { width: 5, height: 17 } as const;
/** Room at the right for the last figure. */
const EDGE = 14;
/** Bars nearer than this bear neither dot nor notch. */
const ROOM_FOR_MARKS = 9;
const FIGURES = 10;

export interface LanesQuestion {
  readonly lanes: readonly Lane[];
  readonly spanMs: number;
  /** Height of a lane, CSS px. */
  readonly pitch: number;
  /** Key of the lane that is held. */
  readonly held: string | null;
}

/** A bar with its foot at the lane; its parts are left open, so that they show on any ground. */
export function drawBar(
  surface: Surface,
  palette: Palette,
  at: { readonly x: number; readonly y: number; readonly width: number },
  lane: Pick<Lane, 'counter' | 'checksum' | 'isPlaced'> & { readonly color: string; readonly marks: boolean },
): void {
  const { x, y, width } = at;
  const [left, top] = [x - width / 2, y - BAR.height / 2];
  if (!lane.isPlaced) {
    surface.rect(left, top, width, BAR.height, { color: palette.ground });
    surface.frame(left + 0.5, top + 0.5, Math.max(1, width - 1), BAR.height - 1, { color: lane.color });
    if (lane.marks && lane.counter) surface.circle(x, top + 4.5, 1.2, { fill: { color: lane.color } });
    if (lane.marks && lane.checksum) surface.rect(left, y + 3, width, 1.6, { color: lane.color });
    return;
  }
  surface.rect(left, top, width, BAR.height, { color: lane.color });
  if (lane.marks && lane.counter) surface.circle(x, top + 4.5, 1.4, { fill: { color: palette.ground } });
  if (lane.marks && lane.checksum) surface.rect(left, y + 3, width, 2, { color: palette.ground });
}

const right = (surface: Surface): number => surface.width - EDGE;

function drawAxis(surface: Surface, palette: Palette, spanMs: number): void {
  const width = right(surface);
  const marks = ticks(0, spanMs, width < 400 ? FIGURES / 2 : FIGURES);
  for (const tick of marks) {
    const x = Math.round((tick / spanMs) * width) + 0.5;
    surface.line(x, AXIS_HEIGHT - 4, x, surface.height, { color: palette.rule, width: 0.75 });
    const isLast = tick === marks.at(-1);
    surface.text(isLast ? surface.width : x, 12, isLast ? `${count(tick)} ms` : count(tick), {
      color: palette.ink2,
      size: 11,
      align: isLast ? 'end' : tick === 0 ? 'start' : 'middle',
    });
  }
}

function drawLane(surface: Surface, palette: Palette, lane: Lane, y: number, spanMs: number): void {
  const width = right(surface);
  const color = groupColor(palette, lane.group);
  surface.line(0, y, width, y, { color: palette.threadRest, ...(lane.everyMs === null ? { dash: [5, 4] } : {}) });
  const pitch = lane.everyMs === null ? Infinity : (lane.everyMs / spanMs) * width;
  const barWidth = Math.max(1.6, Math.min(BAR.width, pitch * 0.45));
  const isSent = lane.planned.whyNotProduced === null;
  for (const atMs of lane.atMs) {
    const x = (atMs / spanMs) * width + barWidth / 2;
    if (isSent)
      drawBar(surface, palette, { x, y, width: barWidth }, { ...lane, color, marks: pitch >= ROOM_FOR_MARKS });
    else surface.line(x, y - BAR.height / 2, x, y + BAR.height / 2, { color, dash: [2, 2] });
  }
  const words = [lane.words, isSent ? '' : 'cannot be produced'].filter(Boolean).join('; ');
  if (words)
    surface.text(width - 4, y + 4, words, {
      color: palette.ink2,
      size: 11,
      align: 'end',
      italic: true,
      halo: palette.ground,
    });
}

/** Square brackets outside of what is held. */
function drawBrackets(surface: Surface, palette: Palette, y: number, pitch: number): void {
  const [top, bottom] = [y - pitch / 2 + 2, y + pitch / 2 - 2];
  const edge = surface.width - 1;
  surface.polyline([edge - 5, top, edge, top, edge, bottom, edge - 5, bottom], { color: palette.accent, width: 2 });
}

export const lanesHeight = (lanes: number, pitch: number): number => AXIS_HEIGHT + lanes * pitch + 4;

export function lanesScene({ lanes, spanMs, pitch, held }: LanesQuestion): Scene {
  return (surface, palette) => {
    drawAxis(surface, palette, spanMs);
    lanes.forEach((lane, at) => {
      const y = Math.round(AXIS_HEIGHT + (at + 0.5) * pitch) + 0.5;
      drawLane(surface, palette, lane, y, spanMs);
      if (lane.key === held) drawBrackets(surface, palette, y, pitch);
    });
  };
}
