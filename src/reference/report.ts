/** A fit in the words of the map. */
import { placeOfCandidate } from '../map/proposed-fields.ts';
import type { Ranked } from './ranking.ts';
import type { Detail } from './detail.ts';
import { median } from '../kit/statistics/order.ts';
import { isCoarseSpeed, simpleOffsetNear, simpleScaleNear } from './simple-scale.ts';
import type { Fit, ReferenceSeries } from './types.ts';

const round = (value: number, digits: number): number =>
  Number.isFinite(value) ? Number(value.toPrecision(digits)) : value;

/** With the scale fixed, the offset is the middle of what is left, and its error that of a middle. */
function offsetFor(scale: number, detail: Detail): number {
  const { pairs, line, independent } = detail;
  const offset = median(pairs.y.map((y, i) => y - scale * (pairs.x[i] as number)));
  const half = (1.96 * 1.25 * line.residualSd) / Math.sqrt(Math.max(1, Math.min(independent, line.n)));
  return round(simpleOffsetNear(offset, half, scale), 8);
}

/** @param offsetS the clock offset reported: lags are against it */
export function toFit(
  { one: { candidate, coding, detail, own }, behind }: Ranked,
  series: ReferenceSeries,
  offsetS: number,
  tried: number,
): Fit {
  const { line, pairs, bent } = detail;
  const interval = (middle: number, half: number): [number, number] => [
    round(middle - half, 8),
    round(middle + half, 8),
  ];
  const coarse = isCoarseSpeed(series.name, series.unit);
  const simpleScale = coarse || bent ? null : simpleScaleNear(line.scale, detail.scaleHalf);
  return {
    ...placeOfCandidate(candidate),
    coding,
    scale: round(line.scale, 8),
    scaleSe: round(detail.scaleSe, 4),
    offset: round(line.offset, 8),
    offsetSe: round(detail.offsetSe, 4),
    simpleScale,
    simpleOffset: simpleScale === null ? null : offsetFor(simpleScale, detail),
    // A field that answers before the reference is compared with the reference later.
    lagS: Math.round((offsetS - (Number.isFinite(own.seS) ? own : detail).shiftS) * 1000) / 1000,
    behind: round(behind, 4),
    r2: round(line.r2, 6),
    n: line.n,
    scaleInterval: interval(line.scale, detail.scaleHalf),
    offsetInterval: interval(line.offset, detail.offsetHalf),
    residualSd: round(bent?.residualSd ?? line.residualSd, 4),
    range: { min: Math.min(...pairs.y), max: Math.max(...pairs.y) },
    chance: Math.min(1, detail.p * tried),
    ...(bent
      ? { table: bent.table.map(([raw, physical]) => [raw, round(physical, 5)] as const), rank: round(bent.rank, 4) }
      : {}),
  };
}
