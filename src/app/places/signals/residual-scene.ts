/** Residuals on the time column: a stem and a dot a reading, a wash for two standard deviations, dotted where there was no reference. */
import { ticks } from 'd3-array';
import type { Scene, Surface } from '../../../kit/drawing/surface.ts';
import type { Palette } from '../../../kit/drawing/palette.ts';
import { duration, fixed } from '../../../kit/sheet-figures.ts';
import { drawColumns, xOf, type ActionColumn, type TimeSpan } from '../../pictures/weave-scene.ts';
import { fittedAt, isWild, roundStep, silencesOf, spreadOf, type FitLine, type Residual } from './residuals.ts';

/** About how many figures an axis of an inset bears. */
const TICKS = 3;

export interface ResidualQuestion {
  readonly window: TimeSpan;
  readonly residuals: readonly Residual[];
  readonly columns: readonly ActionColumn[];
}

export function residualScene({ window, residuals, columns }: ResidualQuestion): Scene {
  return (surface, palette) => {
    drawColumns(surface, palette, window, columns);
    const spread = spreadOf(residuals);
    const near = residuals.filter((residual) => !isWild(residual, spread));
    const largest = near.reduce((most, { left }) => Math.max(most, Math.abs(left)), 0) || 1;
    const middle = Math.round(surface.height / 2) + 0.5;
    const reach = (surface.height / 2 - 8) / (largest * 1.05);
    const y = (left: number): number => middle - left * reach;
    if (spread === spread)
      surface.rect(0, y(2 * spread), surface.width, y(-2 * spread) - y(2 * spread), { color: palette.hatchWash });
    const step = roundStep(largest);
    const digits = Math.max(0, -Math.floor(Math.log10(step)));
    for (const level of [-step, step]) {
      surface.line(0, Math.round(y(level)) + 0.5, surface.width, Math.round(y(level)) + 0.5, {
        color: palette.rule,
        width: 0.75,
      });
      surface.text(4, y(level) - 4, `${level > 0 ? '+' : ''}${fixed(level, digits)}`, {
        color: palette.ink3,
        size: 11,
        halo: palette.ground,
      });
    }
    surface.line(0, middle, surface.width, middle, { color: palette.ruleKey });
    for (const { fromS, toS } of silencesOf(residuals.map(({ atS }) => atS))) {
      const [left, right] = [xOf(window, surface.width, fromS) + 3, xOf(window, surface.width, toS) - 3];
      if (right < 0 || left > surface.width || right - left < 12) continue;
      const [a, b] = [Math.max(0, left), Math.min(surface.width, right)];
      surface.missing(a, 4, b - a, surface.height - 8);
      if (b - a > 90)
        surface.text((a + b) / 2, 16, `no reading ${duration(toS - fromS)}`, {
          color: palette.ink2,
          size: 11,
          align: 'middle',
          halo: palette.ground,
        });
    }
    for (const residual of residuals) {
      const { atS, left } = residual;
      const x = xOf(window, surface.width, atS);
      if (x < 0 || x > surface.width) continue;
      if (isWild(residual, spread)) {
        drawWild(surface, palette, x, left > 0);
        continue;
      }
      surface.line(x, middle, x, y(left), { color: palette.ink3, width: 0.8 });
      surface.circle(x, y(left), 1.9, { fill: { color: palette.ink } });
    }
  };
}

/** An arrow at the edge: this reading lies far outside. */
function drawWild(surface: Surface, palette: Palette, x: number, above: boolean): void {
  const [tip, foot] = above ? [2, 10] : [surface.height - 2, surface.height - 10];
  surface.polyline([x - 4, foot, x, tip, x + 4, foot], { color: palette.ink, width: 1.4 });
}

export interface ScatterQuestion {
  readonly residuals: readonly Residual[];
  readonly line: FitLine;
  readonly color: string;
  /** Drawn as crosses: readings typed at the cursor. */
  readonly typed: boolean;
  readonly unit: string;
}

/** Raw against reference, with the line or curve: an inset with an axis of its own. */
export function scatterScene({ residuals: all, line, color, typed, unit }: ScatterQuestion): Scene {
  return (surface, palette) => {
    const spread = spreadOf(all);
    const residuals = typed ? all : all.filter((residual) => !isWild(residual, spread));
    const [left, top, right, bottom] = [44, 4, surface.width - 1, surface.height - 22];
    const raws = residuals.map(({ raw }) => raw);
    const references = residuals.map(({ reference }) => reference);
    const [x0, x1] = padded(raws);
    const [y0, y1] = padded(references);
    const x = (raw: number): number => left + ((raw - x0) / (x1 - x0)) * (right - left);
    const y = (value: number): number => bottom - ((value - y0) / (y1 - y0)) * (bottom - top);
    surface.frame(left, top, right - left, bottom - top, { color: palette.rule2 });
    for (const tick of ticks(y0, y1, TICKS)) {
      surface.line(left, y(tick), right, y(tick), { color: palette.rule, width: 0.75 });
      surface.text(left - 6, y(tick) + 4, tickWords(tick, y1 - y0), { color: palette.ink2, size: 11, align: 'end' });
    }
    for (const tick of ticks(x0, x1, TICKS)) {
      surface.line(x(tick), top, x(tick), bottom, { color: palette.rule, width: 0.75 });
      if (x(tick) > left + 14 && x(tick) < right - 16)
        surface.text(x(tick), bottom + 15, tickWords(tick, x1 - x0), {
          color: palette.ink2,
          size: 11,
          align: 'middle',
        });
    }
    surface.clip(left, top, right - left, bottom - top, () => {
      for (const { raw, reference } of residuals) {
        if (typed) {
          surface.line(x(raw) - 5, y(reference), x(raw) + 5, y(reference), { color: palette.ink, width: 1.6 });
          surface.line(x(raw), y(reference) - 5, x(raw), y(reference) + 5, { color: palette.ink, width: 1.6 });
        } else surface.circle(x(raw), y(reference), 1.7, { fill: { color, alpha: 0.8 } });
      }
      const bends = (line.table ?? []).map(([raw]) => raw).filter((raw) => raw > x0 && raw < x1);
      const course = [x0, ...bends, x1].flatMap((raw) => [x(raw), y(fittedAt(line, raw))]);
      surface.polyline(course, { color: palette.ink, width: 1.25 });
    });
    const wild = all.length - residuals.length;
    if (wild > 0)
      surface.text(right - 6, top + 14, `${wild} far off`, {
        color: palette.ink2,
        size: 11,
        align: 'end',
        halo: palette.ground,
      });
    surface.text(left + 7, top + 14, unit || 'reference', { color: palette.ink2, size: 11, halo: palette.ground });
    surface.text(right - 6, bottom - 6, 'raw', { color: palette.ink2, size: 11, align: 'end', halo: palette.ground });
  };
}

function padded(values: readonly number[]): [number, number] {
  const least = Math.min(...values);
  const greatest = Math.max(...values);
  const pad = (greatest - least) * 0.05 || 1;
  return [least - pad, greatest + pad];
}

const tickWords = (tick: number, span: number): string => {
  const digits = Math.max(0, Math.min(6, Math.ceil(1 - Math.log10(span))));
  const text = Math.abs(tick).toLocaleString('en', { maximumFractionDigits: digits });
  return tick < 0 && text !== '0' ? `−${text}` : text;
};
