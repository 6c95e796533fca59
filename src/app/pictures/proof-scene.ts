/**
 * Threads of Proof: a line through the time column that is cut where something failed, with a flag above the cut. An item that holds may have
 * moments too, of the few that did not agree: these are ticks. What is not in the capture has no thread but a dotted field.
 */
import type { Palette } from '../../kit/drawing/palette.ts';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import { heightOf, scaleFor } from './traces-model.ts';
import { drawColumns, xOf, type ActionColumn, type TimeSpan } from './weave-scene.ts';

export interface ThreadQuestion {
  readonly window: TimeSpan;
  readonly columns: readonly ActionColumn[];
  readonly color: string;
  readonly width: number;
  /** "missing": there is no such thing in the capture; "rest": nothing of it was tested. */
  readonly thread: 'solid' | 'rest' | 'missing';
  /** Seconds. */
  readonly failed: readonly number[];
  readonly strayed: readonly number[];
  /** On the thread, at its left end. */
  readonly words: string;
  readonly inferred: boolean;
}

/** Half the width of a cut, and how high its ends stand. */
const CUT = 3.5;
const END = 4.5;
const FLAG = 5;
/** Cuts nearer than this are drawn as one. */
const NEAR = 2;

function places(window: TimeSpan, width: number, moments: readonly number[]): number[] {
  const shown: number[] = [];
  for (const moment of [...moments].sort((a, b) => a - b)) {
    const x = xOf(window, width, moment);
    if (x < -CUT || x > width + CUT) continue;
    if (shown.length === 0 || x - (shown.at(-1) as number) >= NEAR) shown.push(x);
  }
  return shown;
}

function drawFlag(surface: Surface, palette: Palette, x: number, y: number): void {
  surface.area([x - FLAG, y - FLAG - 6, x + FLAG, y - FLAG - 6, x, y - 5], { color: palette.ink });
}

export function threadScene(question: ThreadQuestion): Scene {
  return (surface, palette) => {
    const { window, columns, color, width, thread } = question;
    const y = Math.round(surface.height / 2) + 1.5;
    drawColumns(surface, palette, window, columns);
    surface.line(0, surface.height - 0.5, surface.width, surface.height - 0.5, { color: palette.rule, width: 0.75 });
    if (thread === 'missing') surface.missing(0, y - 5, surface.width, 10);
    else surface.line(0, y, surface.width, y, thread === 'rest' ? { color: palette.threadRest } : { color, width });
    for (const x of places(window, surface.width, question.strayed))
      surface.line(x, y - END, x, y + END, { color: palette.ink2, width: 1.25 });
    for (const x of places(window, surface.width, question.failed)) {
      surface.rect(x - CUT, y - 2.5, 2 * CUT, 5, { color: palette.ground });
      for (const end of [x - CUT, x + CUT]) surface.line(end, y - END, end, y + END, { color, width: 1.5 });
      drawFlag(surface, palette, x, y);
    }
    if (question.words)
      surface.text(6, y - 4.5, question.words, {
        color: palette.ink2,
        size: 11,
        italic: question.inferred,
        halo: palette.ground,
      });
  };
}

const TRACE_MARGIN = 4;

export interface RangeQuestion {
  /** As the trace beneath draws it. */
  readonly picture: Parameters<typeof scaleFor>[0];
  readonly fillings: readonly number[];
  /** Ends of the range that the map saw, and their words. */
  readonly ends: readonly { readonly value: number; readonly words: string }[];
}

/** The range that the map saw, as dashed lines through a trace of the same scale. */
export function withRange(scene: Scene, { picture, fillings, ends }: RangeQuestion): Scene {
  return (surface, palette) => {
    scene(surface, palette);
    const scale = scaleFor(picture, TRACE_MARGIN, surface.height - TRACE_MARGIN, fillings);
    for (const { value, words } of ends) {
      const y = Math.round(heightOf(scale, value)) + 0.5;
      if (y < 0 || y > surface.height) continue;
      surface.line(0, y, surface.width, y, { color: palette.ruleKey, dash: [5, 4] });
      surface.text(surface.width - 3, Math.min(surface.height - 5, Math.max(11, y + 4)), words, {
        color: palette.ink3,
        size: 11,
        align: 'end',
        halo: palette.ground,
      });
    }
  };
}

/** The moments through a picture of something else, as lines with a flag at their head. */
export function withMoments(scene: Scene, window: TimeSpan, moments: readonly number[]): Scene {
  return (surface, palette) => {
    scene(surface, palette);
    for (const x of places(window, surface.width, moments)) {
      surface.line(x, 0, x, surface.height, { color: palette.ink, width: 1, dash: [2, 2] });
      surface.area([x - 4, 0, x + 4, 0, x, 5], { color: palette.ink });
    }
  };
}
