/**
 * A value over time: the band between least and greatest in each column, ticks with their figures on the left, a ruler of time above.
 * Where nothing was sent for longer than usual the line is cut; it never falls to zero.
 */
import { groupColor } from '../../../kit/drawing/palette.ts';
import type { Scene } from '../../../kit/drawing/surface.ts';
import { niceStep } from '../../../kit/drawing/ticks.ts';
import { clock } from '../../../kit/sheet-figures.ts';
import { cutText } from '../../../timing/loom/drawing.ts';

export interface TraceContent {
  readonly group: string | null;
  /** [columns] NaN where nothing is shown; what is held over a short silence is filled in already. */
  readonly low: readonly number[];
  readonly high: readonly number[];
  /** What the axis reaches from and to. */
  readonly least: number;
  readonly greatest: number;
  readonly ticks: readonly { readonly value: number; readonly words: string }[];
}

export interface AxisContent {
  readonly fromS: number;
  readonly toS: number;
}

export const TRACE_WIDTH = 420;
export const TRACE_HEIGHT = 52;
export const AXIS_HEIGHT = 18;
const LEFT = 62;
const RIGHT = 4;
const MARGIN = 7;
const PLOT = TRACE_WIDTH - LEFT - RIGHT;

/** Steps finer than half a pixel, or a pixel where columns are wide, are not seen and make the file longer. */
const FINE_COLUMNS = 150;

const scaleOf =
  ({ least, greatest, low }: TraceContent) =>
  (value: number): number => {
    const range = greatest - least;
    const share = range > 0 ? (value - least) / range : 0.5;
    const steps = low.length > FINE_COLUMNS ? 2 : 1;
    return Math.round(steps * (TRACE_HEIGHT - MARGIN - share * (TRACE_HEIGHT - 2 * MARGIN))) / steps;
  };

/** Up and down through the columns, each entered at the end that is nearer. */
export function bandPoints({ low, high }: TraceContent, y: (value: number) => number): number[] {
  const step = PLOT / Math.max(1, low.length);
  const points: number[] = [];
  let before = Number.NaN;
  low.forEach((least, column) => {
    const most = high[column] as number;
    if (Number.isNaN(least) || Number.isNaN(most)) {
      if (!Number.isNaN(before)) points.push(Number.NaN, Number.NaN);
      before = Number.NaN;
      return;
    }
    const x = LEFT + (column + 0.5) * step;
    const upFirst = Math.abs(before - most) < Math.abs(before - least);
    const [enter, leave] = upFirst ? [most, least] : [least, most];
    points.push(x, y(enter));
    if (leave !== enter) points.push(x, y(leave));
    // A value that stands alone between two holes would leave no ink.
    if (Number.isNaN(before) && Number.isNaN(low[column + 1] ?? Number.NaN)) points.push(x + step, y(leave));
    before = leave;
  });
  return points;
}

export const traceScene =
  (trace: TraceContent): Scene =>
  (surface, palette) => {
    const y = scaleOf(trace);
    const rules: number[] = [];
    for (const { value, words } of trace.ticks) {
      const at = Math.round(y(value)) + 0.5;
      rules.push(LEFT, at, TRACE_WIDTH - RIGHT, at, Number.NaN, Number.NaN);
      const style = { color: palette.ink2, size: 11, align: 'end' } as const;
      surface.text(LEFT - 5, at + 3.5, cutText(words, LEFT - 6, 11), style);
    }
    surface.polyline(rules, { color: palette.rule });
    if (trace.least < 0 && trace.greatest > 0) {
      const zero = Math.round(y(0)) + 0.5;
      surface.line(LEFT, zero, TRACE_WIDTH - RIGHT, zero, { color: palette.ruleKey });
    }
    surface.polyline(bandPoints(trace, y), { color: groupColor(palette, trace.group), width: 1.4 });
  };

export const axisScene =
  ({ fromS, toS }: AxisContent): Scene =>
  (surface, palette) => {
    const range = toS - fromS;
    if (!(range > 0)) return;
    const step = timeStep(range);
    surface.line(LEFT, AXIS_HEIGHT - 0.5, TRACE_WIDTH - RIGHT, AXIS_HEIGHT - 0.5, { color: palette.ruleKey });
    for (let k = Math.ceil(fromS / step - 1e-9); k * step <= toS + 1e-9 * range; k++) {
      const x = LEFT + ((k * step - fromS) / range) * PLOT;
      surface.line(x, AXIS_HEIGHT - 4.5, x, AXIS_HEIGHT - 0.5, { color: palette.ruleKey });
      const align = x > TRACE_WIDTH - 30 ? 'end' : x < LEFT + 12 ? 'start' : 'middle';
      surface.text(x, AXIS_HEIGHT - 7, clock(k * step, step < 1 ? 1 : 0), { color: palette.ink2, size: 11, align });
    }
  };

/** Steps of minutes and hours are round on a clock, not in tens. */
const CLOCK_STEPS = [1, 2, 5, 10, 20, 30, 60, 120, 300, 600, 1200, 1800, 3600, 7200, 14400];
const timeStep = (rangeS: number): number =>
  (rangeS >= 5 ? CLOCK_STEPS.find((step) => step >= rangeS / 6) : undefined) ?? niceStep(rangeS, 6);
