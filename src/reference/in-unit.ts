/** A fit in the unit of the map where the reference was measured in another: round scales are to be looked for in the map's. */
import { conversionBetween, type Conversion } from '../kit/unit-conversion.ts';
import { isCoarseSpeed, simpleOffsetNear, simpleScaleNear } from './simple-scale.ts';
import type { Fit } from './types.ts';

export interface ScaledLine {
  readonly scale: number;
  readonly scaleSe: number;
  readonly offset: number;
  readonly offsetSe: number;
}

export function lineConverted<Of extends ScaledLine>(line: Of, { scale, offset }: Conversion): Of {
  return {
    ...line,
    scale: scale * line.scale,
    offset: scale * line.offset + offset,
    scaleSe: Math.abs(scale) * line.scaleSe,
    offsetSe: Math.abs(scale) * line.offsetSe,
  };
}

type Interval = readonly [number, number];

/** Round scale and offset in the new unit; the offset keeps the line where the readings were. */
function simpleOf(fit: Fit, name: string, unit: string): Pick<Fit, 'simpleScale' | 'simpleOffset'> {
  const { scale, offset, scaleInterval, offsetInterval, range, table } = fit;
  if (!scaleInterval || !offsetInterval || !range || table || isCoarseSpeed(name, unit))
    return { simpleScale: null, simpleOffset: null };
  const simpleScale = simpleScaleNear(scale, (scaleInterval[1] - scaleInterval[0]) / 2);
  if (simpleScale === null) return { simpleScale, simpleOffset: null };
  const middle = (range.min + range.max) / 2;
  const there = middle - (simpleScale * (middle - offset)) / scale;
  const half = (offsetInterval[1] - offsetInterval[0]) / 2;
  return { simpleScale, simpleOffset: simpleOffsetNear(there, half, simpleScale) };
}

/** Null where the one unit cannot be turned into the other. name: of the quantity. */
export function fitInUnit(fit: Fit, name: string, from: string, to: string): Fit | null {
  const by = conversionBetween(from, to);
  if (!by) return null;
  if (by.scale === 1 && by.offset === 0) return fit;
  const moved = (value: number): number => by.scale * value + by.offset;
  const stretched = ([low, high]: Interval): Interval => [by.scale * low, by.scale * high];
  const converted: Fit = {
    ...lineConverted(fit, by),
    ...(fit.scaleInterval ? { scaleInterval: stretched(fit.scaleInterval) } : {}),
    ...(fit.offsetInterval ? { offsetInterval: [moved(fit.offsetInterval[0]), moved(fit.offsetInterval[1])] } : {}),
    ...(fit.residualSd === undefined ? {} : { residualSd: by.scale * fit.residualSd }),
    ...(fit.range ? { range: { min: moved(fit.range.min), max: moved(fit.range.max) } } : {}),
    ...(fit.table ? { table: fit.table.map(([raw, physical]): Interval => [raw, moved(physical)]) } : {}),
  };
  return { ...converted, ...simpleOf(converted, name, to) };
}
