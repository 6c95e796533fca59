/**
 * A stretch of what the part waits to hear: a stroke a frame, in the hue of its sender; a dot in it where a counter runs, a notch where a checksum
 * is made anew; a solid square where its absence was tried, a dashed one where it was not.
 */
import { groupColor, type Palette } from '../../../kit/drawing/palette.ts';
import type { Scene, Surface } from '../../../kit/drawing/surface.ts';
import { niceTicks } from '../../../kit/drawing/ticks.ts';
import { period } from '../../../kit/sheet-figures.ts';
import { cutText } from '../../../timing/loom/drawing.ts';

export interface ScheduledFrame {
  readonly shownId: string;
  readonly name: string;
  readonly group: string | null;
  readonly need: 'required' | 'not-required' | 'untested';
  /** 0 where nobody knows: then the stroke is open. */
  readonly phaseMs: number;
  readonly isPhaseKnown: boolean;
  readonly periodMs: number;
  readonly hasCounter: boolean;
  readonly hasChecksum: boolean;
}
export interface ScheduleContent {
  readonly spanMs: number;
  readonly frames: readonly ScheduledFrame[];
}

/** A period of 49.998 ms has no stroke at the very end of 100. */
const EDGE_MS = 0.5;
const WIDTH = 860;
const ROW = 26;
const HEAD = 22;
const WORDS = 230;
const PLOT = WIDTH - WORDS - 12;

export const scheduleSize = ({ frames }: ScheduleContent): { readonly width: number; readonly height: number } => ({
  width: WIDTH,
  height: HEAD + frames.length * ROW + 6,
});

export const scheduleScene =
  ({ spanMs, frames }: ScheduleContent): Scene =>
  (surface, palette) => {
    const foot = HEAD + frames.length * ROW;
    const x = (ms: number): number => WORDS + (ms / spanMs) * PLOT;
    for (const tick of niceTicks(0, spanMs, 5)) {
      surface.line(x(tick), HEAD - 5, x(tick), foot, { color: palette.rule, width: 0.75 });
      const isLast = tick === spanMs;
      const words = isLast ? `${tick} ms` : String(tick);
      surface.text(x(tick), HEAD - 9, words, { color: palette.ink2, size: 11, align: isLast ? 'end' : 'middle' });
    }
    frames.forEach((frame, row) => {
      const y = HEAD + row * ROW + ROW / 2;
      drawRow(surface, palette, frame, y);
      if (frame.phaseMs >= spanMs - EDGE_MS) drawLater(surface, palette, frame, y);
      for (let ms = frame.phaseMs; ms < spanMs - EDGE_MS; ms += frame.periodMs)
        drawStroke(surface, palette, frame, x(ms), y);
    });
  };

function drawRow(surface: Surface, palette: Palette, { shownId, name, group, need }: ScheduledFrame, y: number): void {
  surface.rect(0, y - 8, 3, 16, { color: groupColor(palette, group) });
  surface.text(8, y + 4, shownId, { color: palette.ink, mono: true });
  const left = 14 + 7.4 * shownId.length;
  surface.text(left, y + 4, cutText(name, WORDS - 34 - left, 12), { color: palette.ink2 });
  const x = WORDS - 24;
  if (need === 'required') surface.rect(x, y - 5, 10, 10, { color: palette.ink });
  else if (need === 'untested') surface.frame(x + 0.5, y - 4.5, 9, 9, { color: palette.ink3, dash: [2, 1.6] });
  else surface.line(x + 2, y, x + 8, y, { color: palette.ink3, width: 1.5 });
  surface.line(WORDS, y, WIDTH - 12, y, { color: palette.rule2, width: 0.75 });
}

/** What comes first behind the stretch that is drawn: how long after its start. */
function drawLater(surface: Surface, palette: Palette, { phaseMs }: ScheduledFrame, y: number): void {
  const style = { color: palette.ink2, size: 11, align: 'end', halo: palette.ground } as const;
  surface.text(WIDTH - 14, y + 4, `at ${period(phaseMs)}`, style);
}

function drawStroke(surface: Surface, palette: Palette, frame: ScheduledFrame, x: number, y: number): void {
  const color = groupColor(palette, frame.group);
  if (!frame.isPhaseKnown) {
    surface.frame(x - 1.5, y - 8.5, 4, 17, { color, width: 1 });
    return;
  }
  surface.rect(x - 2, y - 9, 5, 18, { color });
  if (frame.hasCounter) surface.circle(x + 0.5, y - 5, 1.3, { fill: { color: palette.ground } });
  if (frame.hasChecksum) surface.line(x - 2, y + 5, x + 3, y + 5, { color: palette.ground, width: 1.4 });
}
