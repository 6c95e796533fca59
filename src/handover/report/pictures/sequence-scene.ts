/** What follows an event, in order: a bar from the earliest to the latest that each step was seen, a hue and a letter for its sender. */
import { groupColor } from '../../../kit/drawing/palette.ts';
import type { Scene } from '../../../kit/drawing/surface.ts';
import { niceTicks } from '../../../kit/drawing/ticks.ts';
import { period } from '../../../kit/sheet-figures.ts';
import { cutText } from '../../../timing/loom/drawing.ts';

export interface SequenceStep {
  readonly group: string | null;
  readonly words: string;
  readonly lowMs: number;
  readonly highMs: number;
  /** Nothing changes its value: a frame begins or falls silent. */
  readonly isPresence: boolean;
}
export interface SequenceContent {
  readonly steps: readonly SequenceStep[];
}

const WIDTH = 720;
const ROW = 22;
const HEAD = 20;
const WORDS = 330;
const PLOT = WIDTH - WORDS - 14;

export const sequenceSize = ({ steps }: SequenceContent): { readonly width: number; readonly height: number } => ({
  width: WIDTH,
  height: HEAD + steps.length * ROW + 6,
});

export const sequenceScene =
  ({ steps }: SequenceContent): Scene =>
  (surface, palette) => {
    const end = Math.max(1, ...steps.map(({ highMs }) => highMs));
    const start = Math.min(0, ...steps.map(({ lowMs }) => lowMs));
    const x = (ms: number): number => WORDS + ((ms - start) / (end - start)) * PLOT;
    const foot = HEAD + steps.length * ROW;
    for (const tick of niceTicks(start, end, 5)) {
      surface.line(x(tick), HEAD - 4, x(tick), foot, { color: palette.rule, width: 0.75 });
      surface.text(x(tick), HEAD - 8, tick === 0 ? '0' : period(tick), {
        color: palette.ink2,
        size: 11,
        align: 'middle',
      });
    }
    steps.forEach(({ group, words, lowMs, highMs, isPresence }, row) => {
      const y = HEAD + row * ROW + ROW / 2;
      const hue = groupColor(palette, group);
      surface.rect(0, y - 8, 3, 16, { color: hue });
      if (group) surface.text(8, y + 4, group, { color: palette.ink2, size: 11, weight: 600 });
      surface.text(30, y + 4, cutText(words, WORDS - 42, 12), { color: palette.ink, italic: isPresence });
      surface.line(x(start), y, x(lowMs), y, { color: palette.rule2 });
      const width = Math.max(2, x(highMs) - x(lowMs));
      if (isPresence) surface.frame(x(lowMs), y - 4.5, width, 9, { color: hue, width: 1.5 });
      else surface.rect(x(lowMs), y - 5, width, 10, { color: hue });
    });
  };
