/** What a fit leaves over: reference minus fitted value at each reading, its spread, and where there was no reference. */
import { alongKnots, type Knot } from '../../../kit/statistics/monotone.ts';

export interface Residual {
  readonly atS: number;
  readonly raw: number;
  readonly reference: number;
  /** Reference minus fitted value, in the reference's unit. */
  readonly left: number;
}

export interface FitLine {
  readonly scale: number;
  readonly offset: number;
  /** A tie that is bent: straight between these points, ascending in raw. */
  readonly table?: readonly Knot[];
}

/** What the fit makes of a raw value. */
export const fittedAt = ({ scale, offset, table }: FitLine, raw: number): number =>
  table ? alongKnots(table, raw) : scale * raw + offset;

/** Readings without a value of the field then are left out. */
export function residualsOf(
  atS: readonly number[],
  reference: ArrayLike<number>,
  raw: ArrayLike<number>,
  line: FitLine,
): Residual[] {
  return atS.flatMap((at, index) => {
    const measured = reference[index] as number;
    const coded = raw[index] as number;
    if (!Number.isFinite(coded) || !Number.isFinite(measured)) return [];
    return [{ atS: at, raw: coded, reference: measured, left: measured - fittedAt(line, coded) }];
  });
}

/** Two in three readings lie within it: the 68th percentile of what is left, so that a few wild readings do not set it; NaN with fewer than three. */
export function spreadOf(residuals: readonly Residual[]): number {
  if (residuals.length < 3) return Number.NaN;
  const sizes = residuals.map(({ left }) => Math.abs(left)).sort((a, b) => a - b);
  return sizes[Math.min(sizes.length - 1, Math.floor(sizes.length * 0.68))] as number;
}

const WILD = 8;

/** Readings so far off that they are not drawn to scale: eight times the spread and more. */
export function isWild({ left }: Residual, spread: number): boolean {
  return spread > 0 && Math.abs(left) > WILD * spread;
}

/** Stretches without a reading, five times longer than usual. */
export function silencesOf(atS: readonly number[]): { readonly fromS: number; readonly toS: number }[] {
  const steps = atS.slice(1).map((at, index) => at - (atS[index] as number));
  const usual = [...steps].sort((a, b) => a - b)[Math.floor(steps.length / 2)] ?? 0;
  return steps.flatMap((step, index) =>
    step > 5 * usual && usual > 0 ? [{ fromS: atS[index] as number, toS: atS[index + 1] as number }] : [],
  );
}

/** A round number near a third of the largest residual's full scale, for the two lines of the axis: 1, 2 or 5 times a power of ten. */
export function roundStep(largest: number): number {
  if (!(largest > 0)) return 1;
  const power = 10 ** Math.floor(Math.log10(largest));
  const lead = largest / power;
  return power * (lead >= 5 ? 5 : lead >= 2 ? 2 : 1);
}
