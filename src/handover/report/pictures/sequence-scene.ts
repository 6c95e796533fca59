/**
 * What follows an event, in order: a bar from the earliest to the latest that each step was seen, a hue and a letter for its sender. Steps that come
 * far behind all others do not squeeze them: they stand at the end of the axis with an arrow and their time.
 */
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

const WIDTH = 860;
const ROW = 22;
const HEAD = 20;
const WORDS = 330;
/** Room for a time behind the last bar. */
const BEHIND = 110;
const PLOT = WIDTH - WORDS - BEHIND;

export const sequenceSize = ({ steps }: SequenceContent): { readonly width: number; readonly height: number } => ({
  width: WIDTH,
  height: HEAD + steps.length * ROW + 6,
});

/** Where the axis ends: the last step, unless it comes more than so many times later than four fifths of them. */
const FAR = 2.5;
export function axisEndMs(steps: readonly SequenceStep[]): number {
  const ends = steps.map(({ highMs }) => highMs).toSorted((a, b) => a - b);
  const last = ends.at(-1) ?? 0;
  const usual = ends[Math.floor(0.8 * (ends.length - 1))] ?? last;
  return Math.max(1, usual > 0 && last > FAR * usual ? 1.1 * usual : last);
}

const timeWords = ({ lowMs, highMs }: SequenceStep): string =>
  lowMs === highMs ? period(lowMs) : `${period(lowMs)} to ${period(highMs)}`;

export const sequenceScene =
  ({ steps }: SequenceContent): Scene =>
  (surface, palette) => {
    const end = axisEndMs(steps);
    const start = Math.min(0, ...steps.map(({ lowMs }) => lowMs));
    const x = (ms: number): number => WORDS + ((Math.min(end, ms) - start) / (end - start)) * PLOT;
    const foot = HEAD + steps.length * ROW;
    for (const tick of niceTicks(start, end, 5)) {
      surface.line(x(tick), HEAD - 4, x(tick), foot, { color: palette.rule, width: 0.75 });
      surface.text(x(tick), HEAD - 8, tick === 0 ? '0' : period(tick), {
        color: palette.ink2,
        size: 11,
        align: 'middle',
      });
    }
    steps.forEach((step, row) => {
      const { group, words, lowMs, highMs, isPresence } = step;
      const y = HEAD + row * ROW + ROW / 2;
      const hue = groupColor(palette, group);
      surface.rect(0, y - 8, 3, 16, { color: hue });
      if (group) surface.text(8, y + 4, cutText(group, 20, 11), { color: palette.ink2, size: 11, weight: 600 });
      surface.text(30, y + 4, cutText(words, WORDS - 42, 12), { color: palette.ink });
      surface.line(x(start), y, x(lowMs), y, { color: palette.rule2 });
      const [left, right] = [x(lowMs), Math.max(x(lowMs) + 2, x(highMs))];
      if (lowMs > end) surface.area([left - 6, y - 5, left, y, left - 6, y + 5], { color: hue });
      else if (isPresence) surface.frame(left, y - 4.5, Math.max(4, right - left), 9, { color: hue, width: 1.5 });
      else surface.rect(left, y - 5, right - left, 10, { color: hue });
      surface.text(right + 8, y + 4, timeWords(step), { color: palette.ink2, size: 11, halo: palette.ground });
    });
  };
