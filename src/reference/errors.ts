/**
 * How far scale and offset of a fit may be off, beyond the scatter of the readings. Rounding errs the same way each time that
 * the same value comes back, so that many readings at rest do not average it out (the sum over such groups: Liang and
 * Zeger 1986); scatter before the rounding does, by the first term of the Fourier series of a rounding error (Widrow 1956).
 * And the line depends on when the readings were taken, which is known to some error only.
 */
import type { Line } from '../kit/statistics/line.ts';
import { lineAtSpread } from '../kit/statistics/robust-line.ts';
import type { FieldGrid } from './field-grid.ts';
import { pairUp, type Pairs } from './pairing.ts';
import type { Shift } from './shift.ts';
import type { ReferenceSeries } from './types.ts';

interface Variances {
  readonly scale: number;
  readonly offset: number;
}

/** Readings come in steps only where they share values: fewer distinct ones than this share of them. */
const SHARING = 0.5;

/** Step of the readings, in their unit; 0 where they come in none. */
function stepOfReadings(values: Float64Array): number {
  const levels = [...new Set(values)].sort((a, b) => a - b);
  if (levels.length < 2 || levels.length > SHARING * values.length + 2) return 0;
  const gaps = levels.slice(1).map((level, i) => level - (levels[i] as number));
  const dust = 1e-6 * ((levels.at(-1) as number) - (levels[0] as number));
  return Math.min(...gaps.filter((gap) => gap > dust));
}

/** Variance of what a rounding to `step` errs at one value, once scatter of this sd came before it. */
function heldRounding(step: number, scatter: number): number {
  return (step ** 2 / 12) * Math.exp(-(((2 * Math.PI * scatter) / step) ** 2));
}

/** Sums of influence over readings at the same raw value, squared and added up. */
function repeated(pairs: Pairs, influence: (x: number) => number): number {
  const sums = new Map<number, number>();
  for (const x of pairs.x) sums.set(Math.round(x), (sums.get(Math.round(x)) ?? 0) + influence(x));
  let total = 0;
  for (const sum of sums.values()) total += sum * sum;
  return total;
}

/** What the steps of field and readings add to the line's variances. */
function roundingVariances(pairs: Pairs, line: Line): Variances {
  const n = pairs.x.length;
  const meanX = pairs.x.reduce((sum, x) => sum + x, 0) / n;
  const xx = pairs.x.reduce((sum, x) => sum + (x - meanX) ** 2, 0);
  if (!(xx > 0)) return { scale: 0, offset: 0 };
  const step = stepOfReadings(pairs.y);
  const scatter = Math.sqrt(Math.max(0, line.residualSd ** 2 - step ** 2 / 12));
  const held = (step > 0 ? heldRounding(step, scatter) : 0) + line.scale ** 2 / 12;
  const slope = (x: number): number => (x - meanX) / xx;
  return {
    scale: held * repeated(pairs, slope),
    offset: held * repeated(pairs, (x) => 1 / n - meanX * slope(x)),
  };
}

/** By how much scale and offset move, squared, when the shift is off by its error. */
export function movedWith(grid: FieldGrid, series: ReferenceSeries, { shiftS, seS }: Shift, line: Line): Variances {
  if (!(seS > 0) || !Number.isFinite(seS) || !(line.residualSd > 0)) return { scale: 0, offset: 0 };
  const moved = [-seS, seS].map((byS) => {
    const { x, y } = pairUp(grid.series, series, shiftS + byS, grid.holdS);
    return x.length < 3 ? line : lineAtSpread(x, y, line, line.residualSd);
  });
  const meanSquare = (key: 'scale' | 'offset'): number =>
    moved.reduce((sum, one) => sum + (one[key] - line[key]) ** 2 / 2, 0);
  return { scale: meanSquare('scale'), offset: meanSquare('offset') };
}

/** Standard errors of scale and offset: scatter, whether remembered or not, rounding, and `moved` by the shift. */
export function errorsOf(pairs: Pairs, line: Line, moved: Variances): { scaleSe: number; offsetSe: number } {
  const rounding = roundingVariances(pairs, line);
  const total = (se: number, evenSe: number, key: 'scale' | 'offset'): number =>
    Math.hypot(Math.max(se, evenSe), Math.sqrt(rounding[key] + moved[key]));
  return {
    scaleSe: total(line.scaleSe, line.evenScaleSe, 'scale'),
    offsetSe: total(line.offsetSe, line.evenOffsetSe, 'offset'),
  };
}
