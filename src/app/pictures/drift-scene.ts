/**
 * Clocks over the whole capture: one line an identifier, one fan a group, ends in the group's tag. An inset with axes of its own; the
 * cursor is in it. Holes stay holes.
 */
import { ticks } from 'd3-array';
import { scaleLinear } from 'd3-scale';
import type { Scene, Surface } from '../../kit/drawing/surface.ts';
import { groupColor, type Palette } from '../../kit/drawing/palette.ts';
import { clock } from '../../kit/sheet-figures.ts';
import { drawTag } from '../../timing/loom/tag.ts';

export interface DriftCurve {
  /** [windows] microseconds; NaN where nothing was heard. */
  readonly valuesUs: Float64Array;
  readonly group: string | null;
  /** The line of the identifier that is held, of a group's clock, or of another identifier. */
  readonly weight: 'held' | 'fan' | 'thin';
  /** The group's tag stands at its end. */
  readonly tagged: boolean;
}

export interface DriftContent {
  /** [windows] seconds. */
  readonly middlesS: Float64Array;
  readonly curves: readonly DriftCurve[];
  readonly lastsS: number;
  readonly cursorS: number | null;
  /** What stamps are multiples of: the picture never shows less than that. */
  readonly stepUs: number;
  /** "ahead of F": what up means. */
  readonly axis: string;
}

const LEFT = 40;
const RIGHT = 24;
const FOOT = 18;
const TAG_APART = 17;

interface Frame {
  readonly x: (s: number) => number;
  readonly y: (us: number) => number;
  readonly left: number;
  readonly right: number;
  readonly top: number;
  readonly bottom: number;
}

/** Thin lines keep company: a few windows that a busy bus lifts, or one that reads no clock at all, do not press the rest flat. */
const COMPANY_SHARE = 0.1;
const COMPANY_REACH = 1.5;

function reachOf({ valuesUs, weight }: DriftCurve): readonly number[] {
  const there = [...valuesUs].filter((us) => !Number.isNaN(us)).sort((a, b) => a - b);
  const cut = weight === 'thin' ? Math.floor(COMPANY_SHARE * there.length) : 0;
  return there.length ? [there[cut] as number, there[there.length - 1 - cut] as number] : [];
}

/** Limits that hold the clocks of groups and the one that is held; never less than a stamp or two. */
function rangeOf({ curves, stepUs }: DriftContent): readonly [number, number] {
  const core = curves.filter(({ weight }) => weight !== 'thin').flatMap(reachOf);
  const span = Math.max(...core, 0) - Math.min(...core, 0);
  const reach = core.length ? COMPANY_REACH * Math.max(span, 4, stepUs) : Infinity;
  const company = curves.filter(({ weight }) => weight === 'thin').flatMap(reachOf);
  const least = Math.min(0, ...core, ...company.filter((us) => us >= -reach));
  const most = Math.max(0, ...core, ...company.filter((us) => us <= reach));
  const pad = Math.max(4, stepUs, (most - least) * 0.06);
  return [least - pad, most + pad];
}

function frameOf(surface: Surface, content: DriftContent): { frame: Frame; range: readonly [number, number] } {
  const range = rangeOf(content);
  const [left, right, top, bottom] = [LEFT, surface.width - RIGHT, 5, surface.height - FOOT];
  return {
    range,
    frame: {
      left,
      right,
      top,
      bottom,
      x: scaleLinear([0, Math.max(content.lastsS, 1e-3)], [left, right]),
      y: scaleLinear([range[0], range[1]], [bottom, top]),
    },
  };
}

/** Milliseconds from two on, else microseconds. */
const unitOf = ([least, most]: readonly [number, number]): { readonly name: string; readonly us: number } =>
  most - least >= 2000 ? { name: 'ms', us: 1000 } : { name: 'us', us: 1 };

const figure = (value: number): string => {
  const text = Number(Math.abs(value).toPrecision(3)).toString();
  return value < 0 ? `−${text}` : value > 0 ? `+${text}` : '0';
};

function drawAxes(
  surface: Surface,
  palette: Palette,
  content: DriftContent,
  frame: Frame,
  range: readonly [number, number],
): void {
  const unit = unitOf(range);
  surface.frame(frame.left + 0.5, frame.top + 0.5, frame.right - frame.left - 1, frame.bottom - frame.top - 1, {
    color: palette.rule2,
  });
  for (const tick of ticks(range[0] / unit.us, range[1] / unit.us, 5)) {
    const y = frame.y(tick * unit.us);
    surface.line(frame.left, y, frame.right, y, { color: tick === 0 ? palette.ruleKey : palette.rule, width: 0.75 });
    surface.text(frame.left - 5, y + 4, figure(tick), { color: palette.ink2, size: 11, align: 'end' });
  }
  const y = frame.bottom + 13;
  const text = { color: palette.ink2, size: 11 } as const;
  surface.text(frame.left, y, clock(0, 0), text);
  surface.text(frame.right, y, clock(content.lastsS, 0), { ...text, align: 'end' });
  surface.text((frame.left + frame.right) / 2, y, `${unit.name} ${content.axis}`, { ...text, align: 'middle' });
}

function pointsOf({ valuesUs }: DriftCurve, middlesS: Float64Array, frame: Frame): number[] {
  return [...valuesUs].flatMap((us, window) =>
    Number.isNaN(us) ? [NaN, NaN] : [frame.x(middlesS[window] as number), frame.y(us)],
  );
}

const WIDTHS = { held: 2.4, fan: 1.1, thin: 0.9 } as const;

function drawCurve(surface: Surface, palette: Palette, curve: DriftCurve, points: readonly number[]): void {
  const color = curve.group === null ? palette.ink3 : groupColor(palette, curve.group);
  const alone = { color, width: WIDTHS[curve.weight], alpha: curve.weight === 'thin' ? 0.62 : 1 };
  if (curve.weight === 'held') surface.polyline(points, { color: palette.ground, width: 5 });
  surface.polyline(points, { ...alone, ...(curve.group === null ? { dash: [3, 2] } : {}) });
  // A window between two holes is a dot: else it would not be seen.
  for (let i = 0; i < points.length; i += 2) {
    const isThere = (at: number): boolean => at >= 0 && at < points.length && !Number.isNaN(points[at] as number);
    if (isThere(i) && !isThere(i - 2) && !isThere(i + 2))
      surface.circle(points[i] as number, points[i + 1] as number, alone.width, { fill: { color } });
  }
}

interface TagPlace {
  readonly group: string;
  readonly at: number;
  readonly x: number;
  y: number;
}

function lastPoint(points: readonly number[]): readonly [number, number] | null {
  for (let i = points.length - 2; i >= 0; i -= 2)
    if (!Number.isNaN(points[i] as number)) return [points[i] as number, points[i + 1] as number];
  return null;
}

/** Tags side by side down the right edge, each as near to its line's end as the others let it. */
export function spreadTags(tags: readonly TagPlace[], top: number, bottom: number): readonly TagPlace[] {
  const sorted = [...tags].map((tag) => ({ ...tag })).sort((a, b) => a.at - b.at);
  let floor = top;
  for (const tag of sorted) {
    tag.y = Math.max(tag.at, floor);
    floor = tag.y + TAG_APART;
  }
  let ceiling = bottom;
  for (const tag of [...sorted].reverse()) {
    tag.y = Math.min(tag.y, ceiling);
    ceiling = tag.y - TAG_APART;
  }
  return sorted;
}

export const driftScene =
  (content: DriftContent): Scene =>
  (surface, palette) => {
    const { frame, range } = frameOf(surface, content);
    drawAxes(surface, palette, content, frame, range);
    const drawn = content.curves.map((curve) => ({ curve, points: pointsOf(curve, content.middlesS, frame) }));
    const rank = { thin: 0, fan: 1, held: 2 } as const;
    const ordered = [...drawn].sort((a, b) => rank[a.curve.weight] - rank[b.curve.weight]);
    surface.clip(frame.left, frame.top, frame.right - frame.left, frame.bottom - frame.top, () => {
      for (const { curve, points } of ordered) drawCurve(surface, palette, curve, points);
    });
    if (content.cursorS !== null && content.cursorS <= content.lastsS) {
      const x = frame.x(content.cursorS);
      surface.line(x, frame.top, x, frame.bottom, { color: palette.accent, width: 1.25 });
    }
    const tags = drawn.flatMap(({ curve, points }): TagPlace[] => {
      const last = curve.tagged && curve.group !== null ? lastPoint(points) : null;
      return last ? [{ group: curve.group as string, x: last[0], at: last[1], y: last[1] }] : [];
    });
    for (const tag of spreadTags(tags, frame.top + 8, frame.bottom - 8)) {
      surface.line(tag.x + 1, tag.at, frame.right + 4, tag.y, { color: palette.ruleKey, width: 0.75 });
      drawTag(surface, palette, tag.group, frame.right + 4, tag.y - 8);
    }
  };
